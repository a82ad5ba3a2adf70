/** A stream of pseudo-random numbers: the same seed and name always give the same stream. */
export interface RandomStream {
  /** Uniform on [0, 1). */
  readonly uniform: () => number;
  /** Standard normal. */
  readonly normal: () => number;
}

/**
 * Pseudo-random stream of the demo logs: a 128-bit "small fast counting" generator on 32-bit integers,
 * normal numbers by the polar method.
 *
 * It is kept here, apart from the toolkit's own generator, so that the committed logs cannot change with the
 * toolkit. Each quantity draws from a stream of its own name: adding one does not shift the others.
 */
export function randomStream(seed: number, name: string): RandomStream {
  let a = 0x9e3779b9;
  let b = seed | 0;
  let c = Math.floor(seed / 0x100000000) | 0;
  let counter = 1;
  const next = (): number => {
    const sum = (a + b + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = ((c << 21) | (c >>> 11)) + sum;
    return sum >>> 0;
  };
  for (const character of name) {
    c ^= character.charCodeAt(0);
    next();
  }
  for (let round = 0; round < 15; round += 1) next();

  const uniform = (): number => next() / 0x100000000;
  let spare: number | undefined;
  const normal = (): number => {
    if (spare !== undefined) {
      const kept = spare;
      spare = undefined;
      return kept;
    }
    for (;;) {
      const x = 2 * uniform() - 1;
      const y = 2 * uniform() - 1;
      const square = x * x + y * y;
      if (square > 0 && square < 1) {
        const scale = Math.sqrt((-2 * Math.log(square)) / square);
        spare = y * scale;
        return x * scale;
      }
    }
  };
  return { uniform, normal };
}
