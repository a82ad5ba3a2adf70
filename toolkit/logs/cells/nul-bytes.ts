/** A run of NUL bytes longer than this is a block that was never written. */
const SHORTEST_BLOCK = 16;

/**
 * The bytes with every block of NUL bytes shortened to one of them; the bytes themselves where there is none. A machine
 * that loses its power while a log is written leaves such blocks, of many kilobytes, in the middle of a line.
 */
export function shortenNulBlocks(bytes: Uint8Array): Uint8Array {
  let from = bytes.indexOf(0);
  if (from === -1) return bytes;
  let shortened: Uint8Array | undefined;
  let length = 0;
  let copied = 0;
  while (from !== -1) {
    let to = from;
    while (to < bytes.length && bytes[to] === 0) to++;
    if (to - from >= SHORTEST_BLOCK) {
      shortened ??= new Uint8Array(bytes.length);
      shortened.set(bytes.subarray(copied, from + 1), length);
      length += from + 1 - copied;
      copied = to;
    }
    from = bytes.indexOf(0, to);
  }
  if (shortened === undefined) return bytes;
  shortened.set(bytes.subarray(copied), length);
  return shortened.subarray(0, length + bytes.length - copied);
}

/** Where the text of a record begins behind the NUL bytes at its start, which belong to what was never written. */
export function behindNuls(bytes: Uint8Array, from: number, to: number): number {
  let at = from;
  while (at < to && bytes[at] === 0) at++;
  return at;
}
