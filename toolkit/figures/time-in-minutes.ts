/** Times in s as minutes, for an axis people read. */
export function inMinutes(timeS: ArrayLike<number>): Float64Array {
  return Float64Array.from(timeS, (seconds) => seconds / 60);
}
