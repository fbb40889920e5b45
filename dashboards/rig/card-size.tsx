import { cardMm, pxPerMm, setPxPerMm, usualPxPerMm } from '../shared/true-size.ts';
import { t } from '../shared/words/language.ts';

/** A box to be made as wide as a bank card, so that 20 mm on this screen are 20 mm. */
export function CardSize() {
  const size = pxPerMm.value;
  return (
    <details class="setting card-size">
      <summary>{t('Size of figures and buttons')}</summary>
      <p>{t('Lay a bank card on the box and make the box as wide as the card.')}</p>
      <p class="card-tools">
        <button type="button" class="tool" onClick={() => setPxPerMm(size / 1.01)}>
          {t('Narrower')}
        </button>
        <button type="button" class="tool" onClick={() => setPxPerMm(size * 1.01)}>
          {t('Wider')}
        </button>
        <button type="button" class="tool" onClick={() => setPxPerMm(usualPxPerMm)}>
          {t('As it was')}
        </button>
      </p>
      <div class="card-box" style={{ width: `${cardMm.width * size}px`, height: `${cardMm.height * size}px` }} />
    </details>
  );
}
