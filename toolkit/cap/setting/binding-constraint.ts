/** What keeps a cap from being higher, or lower. */
export type BindingConstraint =
  | 'temperature'
  | 'supply'
  | 'max-cap'
  | 'default-cap'
  | 'tested-range'
  | 'min-throughput'
  | 'min-cap'
  | 'objective';

/** Upper end of the caps that are allowed at a fan speed. */
export interface CapBound {
  readonly powerW: number;
  readonly constraint: Extract<
    BindingConstraint,
    'temperature' | 'supply' | 'max-cap' | 'default-cap' | 'tested-range'
  >;
}
