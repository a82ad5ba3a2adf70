/** Writes the residuals (length m) at `parameters` (length n) into `out`. Both arrays are reused: keep neither. */
export type ResidualFunction = (parameters: Float64Array, out: Float64Array) => void;

/** Writes the derivatives of the residuals, row-major m × n, into `out`. Both arrays are reused: keep neither. */
export type JacobianFunction = (parameters: Float64Array, out: Float64Array) => void;
