import { type Message, say } from './message.ts';

/**
 * An error that a user can meet: what happened, to what, what to do next, as a code with its figures. Thrown where a
 * room cannot go on; whoever shows it prints `message`, tests look at `code`.
 */
export class Problem extends Error implements Message {
  readonly code: string;
  readonly params: Readonly<Record<string, string | number>>;

  constructor(code: string, params: Readonly<Record<string, string | number>> = {}, options?: ErrorOptions) {
    super(say({ code, params }), options);
    this.name = 'Problem';
    this.code = code;
    this.params = params;
  }
}
