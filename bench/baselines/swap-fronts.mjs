// Puts rival-fronts.ts in the place of src/core/line/front.ts, to measure another detector inside the whole verdict:
//   LIMPID_FRONTS=bayes:0.3 npx tsx --import ./bench/baselines/swap-fronts.mjs bench/verdict.ts --runs 3
import { register } from 'node:module';

const hooks = `export async function resolve(specifier, context, next) {
  const found = await next(specifier, context);
  if (!/\\/src\\/core\\/line\\/front\\.ts/.test(found.url) || context.parentURL?.includes('rival-fronts')) return found;
  return { ...found, url: found.url.replace('/src/core/line/front.ts', '/bench/baselines/rival-fronts.ts') };
}`;
register(`data:text/javascript,${encodeURIComponent(hooks)}`);
