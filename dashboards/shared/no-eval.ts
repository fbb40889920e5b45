import { z } from 'zod';

// The page's policy forbids making code from strings, which zod would do for speed. It decides when a schema is made, so
// this file is imported before any other.
z.config({ jitless: true });
