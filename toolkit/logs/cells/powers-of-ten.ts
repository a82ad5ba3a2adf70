/** Powers of ten that a double holds exactly: 10^0 to 10^22. */
export const POWERS_OF_TEN: readonly number[] = Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));
