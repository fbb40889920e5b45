import { t } from '../../shared/words/language.ts';
import { tell } from '../model.ts';

/** A table that is kept on this device and taken up from it. */
export function TableFile(props: {
  label: string;
  most: number;
  take: (name: string, csv: string) => void;
  keptAs: string;
  csv: string;
}) {
  const { label, most, take, keptAs, csv } = props;
  const read = async (file: File) => {
    if (file.size > most) return tell(t('{file} is too large for such a table.', { file: file.name }));
    take(file.name, await file.text());
  };
  return (
    <>
      <label class="choice">
        {label}
        <input
          type="file"
          accept=".csv,text/csv"
          class="for-readers"
          onChange={(e) => {
            const file = e.currentTarget.files?.[0];
            if (file) void read(file);
          }}
        />
      </label>
      <a class="choice" download={keptAs} href={`data:text/csv;charset=utf-8,${encodeURIComponent(csv)}`}>
        {t('Keep as a table')}
      </a>
    </>
  );
}
