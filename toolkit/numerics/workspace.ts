/**
 * Memory for arrays that live for one computation and are needed again by the next. Fits run thousands of times on
 * records of a few thousand samples, where allocating and collecting arrays would cost as much as the arithmetic.
 */
export interface Workspace {
  /** An array of this length; its contents are whatever was there before. */
  take(length: number): Float64Array;
  /** Gives all taken arrays back. They must not be used afterwards. */
  release(): void;
}

/** What is kept between computations is never more than this; larger arrays are allocated as usual. */
const MOST_KEPT_BYTES = 8 * 2 ** 20;

export function createWorkspace(): Workspace {
  let buffer = new ArrayBuffer(2 ** 16);
  let taken = 0;
  let wanted = 0;
  return {
    take(length) {
      const bytes = 8 * length;
      wanted += bytes;
      if (taken + bytes > buffer.byteLength) return new Float64Array(length);
      const array = new Float64Array(buffer, taken, length);
      taken += bytes;
      return array;
    },
    release() {
      // The next computation of this size finds room for all of its arrays.
      if (wanted > buffer.byteLength && wanted <= MOST_KEPT_BYTES) buffer = new ArrayBuffer(2 * wanted);
      taken = 0;
      wanted = 0;
    },
  };
}
