// A process that does one piece of writing, watched step by step, and may die at one of them. Arguments: the name of the
// work, its folder, a Death as JSON, and what more the work needs. Prints what was watched when it lives to the end.
import { sayNow } from '../../say-now.ts';
import { type Death, watchSteps } from './watch.ts';

const [name = '', folder = '', death = 'null', ...more] = process.argv.slice(2);
const parsed: Death | null = JSON.parse(death);
const watched = watchSteps(parsed);
const { doWork } = await import('./works.ts');
await doWork(name, folder, more);
sayNow(JSON.stringify(watched));
