import { signal } from '@preact/signals';
import { HoldButton } from '../../shared/hold-button.tsx';
import { t } from '../../shared/words/language.ts';
import { mayWork, view } from '../model.ts';

/** What is being put right: the form whose entries are offered ('': all of them), and the one that was chosen. */
export const puttingRight = signal<{ readonly of: string; readonly id: string | null } | null>(null);

/** Opens what was typed in this form (without one, in all of the run); nothing where nothing was. */
export function PutRightButton({ of = '' }: { of?: string }) {
  const typed = (view.value?.typed ?? []).filter((entry) => of === '' || entry.form.id === of);
  const first = typed[0];
  if (!first || !mayWork.value || view.value?.sealed === true) return null;
  return (
    <HoldButton
      className="tool put-right"
      hold={false}
      label={t('Typed wrong? Put it right')}
      onAct={() => {
        puttingRight.value = { of, id: typed.length === 1 ? first.id : null };
      }}
    >
      {t('Typed wrong? Put it right')}
    </HoldButton>
  );
}
