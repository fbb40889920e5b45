interface Props {
  readonly more: Readonly<Record<string, string>>;
  readonly change: (to: Record<string, string>) => void;
}

/** From which day on, and before which. */
export function Dates({ more, change }: Props) {
  return (
    <>
      <label>
        From
        <input
          type="date"
          value={more['since'] ?? ''}
          onChange={(event) => change({ since: event.currentTarget.value })}
        />
      </label>
      <label>
        Before
        <input
          type="date"
          value={more['before'] ?? ''}
          onChange={(event) => change({ before: event.currentTarget.value })}
        />
      </label>
    </>
  );
}
