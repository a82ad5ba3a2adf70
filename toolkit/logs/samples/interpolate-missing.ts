/** Fills NaN by straight lines over time between the readings around it; before the first and after the last one, by that reading. */
export function interpolateMissing(values: Float64Array, timeS: Float64Array): void {
  let before = -1;
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i])) continue;
    for (let j = before + 1; j < i; j++) {
      if (before === -1) {
        values[j] = values[i];
        continue;
      }
      const share = (timeS[j] - timeS[before]) / (timeS[i] - timeS[before]);
      // Where time runs backward the share means nothing, and the reading before is held.
      values[j] =
        share >= 0 && share <= 1 ? values[before] + share * (values[i] - values[before]) : values[before];
    }
    before = i;
  }
  for (let j = before + 1; j < values.length; j++) values[j] = values[before];
}
