import type { StagePage } from '../../../src/core/job/view-schema.ts';
import { HoldButton } from '../../shared/hold-button.tsx';
import { t } from '../../shared/words/language.ts';
import { press, waiting } from '../model.ts';

/** What happened beside the work, told by one touch: chambers emptied, flow reversed, vented. */
export function Deeds({ page }: { page: StagePage }) {
  if (page.deeds.length === 0) return null;
  return (
    <section class="deeds" aria-label={t('To tell by one touch')}>
      {page.deeds.map((deed) => {
        const isWaiting = waiting.value.some((tap) => tap.event === deed.event);
        return (
          <HoldButton
            key={deed.id}
            className={`deed${isWaiting ? ' is-waiting' : ''}`}
            hold={false}
            label={deed.label}
            onAct={() => press(deed)}
          >
            {deed.label}
          </HoldButton>
        );
      })}
    </section>
  );
}
