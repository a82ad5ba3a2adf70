import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import type { ComparedCooler, CoolerPair } from './cooler-comparison.js';

/** The ranking in a sentence or two. */
export function summariseComparison(
  coolers: readonly ComparedCooler[],
  ranking: readonly (readonly string[])[],
  context: { readonly powerW: number; readonly soundLevelDb?: number; readonly provisional: boolean },
): string {
  const { powerW, soundLevelDb } = context;
  const sound = soundLevelDb === undefined ? '' : ` and ${formatNumber(soundLevelDb, 'dB')}`;
  const at = `${context.provisional ? 'Provisional: at' : 'At'} ${formatNumber(powerW, 'W')}${sound}`;
  const [best] = ranking;
  const spoken = best.map(quoted);
  const head =
    best.length === coolers.length
      ? `${at} no two of ${listed(spoken)} are told apart by these runs`
      : best.length === 1
        ? `${at} ${spoken[0]} is better than ${coolers.length === 2 ? quoted(coolers[1].label) : 'all others'}`
        : `${at} the best are ${listed(spoken)}, not told apart by these runs`;
  const rest = ranking.slice(1).map((group) => {
    const names = listed(group.map(quoted));
    return group.length === 1 ? names : `${names} (not told apart)`;
  });
  return rest.length === 0 || coolers.length === 2 ? `${head}.` : `${head}; then ${rest.join('; then ')}.`;
}

/** A pair in a plain sentence or two. */
export function summarisePair(
  pair: Omit<CoolerPair, 'summary'>,
  context: { readonly powerW: number; readonly significance: number; readonly pairCount: number },
): string {
  const names = `${quoted(pair.first)} ${pair.verdict === 'not told apart' ? 'and' : `is ${pair.verdict} than`} ${quoted(pair.second)}`;
  const difference = `${formatEstimate(pair.differenceKPerW, 'K/W')}, ${formatEstimate(pair.riseDifferenceK, 'K')} at ${formatNumber(context.powerW, 'W')}`;
  if (pair.verdict !== 'not told apart') return `${names} (${difference}).`;
  const { moreMountsOfEachCount: more } = pair;
  const alone =
    pair.pValue <= context.significance
      ? ` Alone the pair would pass; among ${context.pairCount} pairs it may be chance.`
      : '';
  const cure =
    more === 'no reasonable number'
      ? 'No reasonable number of further mounts would tell a difference of this size.'
      : `About ${more} more mount${more === 1 ? '' : 's'} of each would, if they differ by this much.`;
  return `${names} are not told apart by these runs (${difference}).${alone} ${cure}`;
}

function quoted(label: string): string {
  return `'${label}'`;
}

function listed(names: readonly string[]): string {
  return names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}
