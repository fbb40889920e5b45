import type { Picture } from './chart/picture.ts';
import type { Fact } from './fact.ts';

/** Drawings are made for this width, points: A4 less its margins, and it fits Letter. */
export const contentWidth = 499;

export interface Column {
  readonly title: string;
  /** Share of the width. */
  readonly share: number;
  readonly end?: boolean;
}

/** Words of a cell; struck out where they no longer count. */
export type Cell = string | { readonly struck: string };

export const cellWords = (cell: Cell): string => (typeof cell === 'string' ? cell : cell.struck);

export type Block =
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'big'; readonly text: string }
  | { readonly kind: 'facts'; readonly rows: readonly { readonly label: string; readonly fact: Fact }[] }
  | { readonly kind: 'list'; readonly title: string; readonly items: readonly string[] }
  | {
      readonly kind: 'table';
      readonly caption: string;
      readonly columns: readonly Column[];
      readonly rows: readonly (readonly Cell[])[];
      /** Said in the place of a table without rows. */
      readonly none: string;
    }
  | { readonly kind: 'picture'; readonly caption: string; readonly picture: Picture }
  | {
      readonly kind: 'pictures';
      readonly caption: string;
      readonly items: readonly { readonly title: string; readonly note: string; readonly picture: Picture }[];
    }
  | {
      readonly kind: 'photos';
      readonly caption: string;
      /** `file` is a name in the report's own photos; '' where there is nothing to show. */
      readonly items: readonly { readonly title: string; readonly note: string; readonly file: string }[];
    }
  | { readonly kind: 'code'; readonly caption: string; readonly text: string };

export interface Section {
  readonly id: string;
  readonly title: string;
  readonly blocks: readonly Block[];
  /** Begins on a page of its own. */
  readonly ownPage?: boolean;
  /** Height that belongs together at its beginning, points: a new page where there is less. */
  readonly room?: number;
}
