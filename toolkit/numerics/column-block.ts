/**
 * A block of rows of a tall matrix, stored by columns, that is folded into normal equations: many samples pass
 * through few columns without the matrix ever existing as a whole.
 */
export interface ColumnBlock {
  /** Most rows a block holds. */
  readonly capacity: number;
  /** Column c, of which the first `rowCount` entries count. */
  readonly columns: readonly Float64Array[];
  /** Adds the products of the first `width` columns of `rowCount` rows to a row-major Gram matrix (lower triangle). */
  addGram(gram: Float64Array, width: number, rowCount: number): void;
  /** Adds the products of the first `width` columns with a vector. */
  addProducts(products: Float64Array, width: number, rowCount: number, vector: Float64Array): void;
}

const MOST_ROWS = 2048;

/** A block for `columnCount` columns of at most `rowCount` rows, or fewer where that is a lot. */
export function allocateColumnBlock(columnCount: number, rowCount: number): ColumnBlock {
  const capacity = Math.min(MOST_ROWS, rowCount);
  const columns = Array.from({ length: columnCount }, () => new Float64Array(capacity));
  return {
    capacity,
    columns,
    addGram(gram, width, rowCount) {
      for (let a = 0; a < width; a++) {
        let b = 0;
        for (; b + 1 <= a; b += 2) {
          addTwoDotProducts(gram, a * width + b, columns[a], columns[b], columns[b + 1], rowCount);
        }
        if (b <= a) gram[a * width + b] += dotProduct(columns[a], columns[b], rowCount);
      }
    },
    addProducts(products, width, rowCount, vector) {
      for (let a = 0; a < width; a++) products[a] += dotProduct(columns[a], vector, rowCount);
    },
  };
}

/** Σ aᵢ bᵢ over the first `count` entries; four partial sums keep the processor's pipeline full. */
export function dotProduct(a: Float64Array, b: Float64Array, count: number): number {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let i = 0;
  for (; i + 3 < count; i += 4) {
    s0 += a[i] * b[i];
    s1 += a[i + 1] * b[i + 1];
    s2 += a[i + 2] * b[i + 2];
    s3 += a[i + 3] * b[i + 3];
  }
  for (; i < count; i++) s0 += a[i] * b[i];
  return s0 + s1 + (s2 + s3);
}

/** Adds Σ aᵢ bᵢ and Σ aᵢ cᵢ to two neighbouring places; a shared column is read once. */
function addTwoDotProducts(
  out: Float64Array,
  place: number,
  a: Float64Array,
  b: Float64Array,
  c: Float64Array,
  count: number,
): void {
  let b0 = 0;
  let b1 = 0;
  let c0 = 0;
  let c1 = 0;
  let i = 0;
  for (; i + 1 < count; i += 2) {
    const a0 = a[i];
    const a1 = a[i + 1];
    b0 += a0 * b[i];
    b1 += a1 * b[i + 1];
    c0 += a0 * c[i];
    c1 += a1 * c[i + 1];
  }
  if (i < count) {
    b0 += a[i] * b[i];
    c0 += a[i] * c[i];
  }
  out[place] += b0 + b1;
  out[place + 1] += c0 + c1;
}
