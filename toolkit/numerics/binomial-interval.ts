import { fisherFQuantile } from './distributions.js';

/** Exact 95 % interval of a share from `hits` of `count` [ClopperPearson1934], by quantiles of Fisher's F. */
export function binomialInterval95(hits: number, count: number): readonly [low: number, high: number] {
  const misses = count - hits;
  const part = (a: number, b: number): number => a * fisherFQuantile(0.975, 2 * a, 2 * b);
  const low = hits === 0 ? 0 : hits / (hits + part(misses + 1, hits));
  const high = misses === 0 ? 1 : part(hits + 1, misses) / (misses + part(hits + 1, misses));
  return [low, high];
}
