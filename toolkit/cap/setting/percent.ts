/** A confidence as a percentage with no more digits than it has. */
export function percent(fraction: number): string {
  return `${Number((fraction * 100).toPrecision(6))} %`;
}
