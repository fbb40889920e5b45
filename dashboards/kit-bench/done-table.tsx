import type { ComponentChildren } from 'preact';

interface Props {
  readonly heads: readonly string[];
  /** Cells of each row, in the order of the heads. */
  readonly rows: readonly { readonly key: string; readonly cells: readonly ComponentChildren[] }[];
  readonly onTakeOut: (index: number) => void;
}

/** What was read so far; each row can be taken out again. */
export function DoneTable({ heads, rows, onTakeOut }: Props) {
  if (rows.length === 0) return null;
  return (
    <table class="done">
      <thead>
        <tr>
          {heads.map((head) => (
            <th scope="col" key={head}>
              {head}
            </th>
          ))}
          <th scope="col">
            <span class="for-readers">Remove</span>
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map(({ key, cells }, i) => (
          <tr key={`${i} ${key}`}>
            {cells.map((cell, c) => (
              <td key={heads[c]}>{cell}</td>
            ))}
            <td>
              <button type="button" class="plain" onClick={() => onTakeOut(i)}>
                Take out
              </button>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What went wrong, and what to do; nothing when nothing did. */
export function Wrong({ text }: { readonly text: string | null }) {
  return text === null ? null : (
    <p class="warn" role="alert">
      {text}
    </p>
  );
}
