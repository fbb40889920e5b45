/** A table of sentences by code; each room keeps its own beside this file, message.ts joins them. */
export type Texts = Readonly<Record<string, (params: Readonly<Record<string, string | number>>) => string>>;
