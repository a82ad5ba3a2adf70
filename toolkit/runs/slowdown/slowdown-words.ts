import type { RunSlowdown } from './slowdown.js';

/** One run's verdict as a sentence or two. */
export function slowdownSentence(
  run: Omit<RunSlowdown, 'sentence'>,
  reference: {
    readonly labels: readonly string[];
    /** A reference run that did more work at no higher frequency, if there is one. */
    readonly outdoneBy?: string;
  },
): string {
  const { label, verdict, reportedMHz, effectiveMHz, lossFraction, detectableFraction } = run;
  const standard = listed(reference.labels);
  const loss = lossFraction.kind === 'estimated' ? lossFraction : undefined;
  const value = Math.abs(loss?.value ?? 0);
  const [low, high] = (loss?.interval95 ?? [0, 0]).map(Math.abs).sort((a, b) => a - b) as [number, number];
  const interval = `(95 % interval ${percent(low)} to ${percent(high)} %)`;
  if (verdict === 'loss') {
    const { outdoneBy } = reference;
    return (
      `${label} reports ${megahertz(reportedMHz)} MHz, works like ${megahertz(effectiveMHz)} MHz: ` +
      `${percent(value)} % less work per cycle ${interval} than ${standard}.` +
      (outdoneBy === undefined ? '' : ` Its frequency is higher than that of ${outdoneBy}, its work is less.`)
    );
  }
  if (verdict === 'more-work') {
    return (
      `${label} does ${percent(value)} % more work per cycle ${interval} than ${standard}, which no processor can by itself: ` +
      'the reference may be slowed down, or did other work.'
    );
  }
  if (verdict === 'may-wait') {
    return (
      `${label} does ${percent(value)} % less work per cycle ${interval} than ${standard} at a higher frequency: ` +
      'work that waits for memory does so too, and these runs cannot tell the two apart.'
    );
  }
  return `${label} works as it reports, ${megahertz(reportedMHz)} MHz: a loss of ${percent(detectableFraction)} % would have shown.`;
}

/** All verdicts in words, losses first. */
export function slowdownSummary(runs: readonly RunSlowdown[], references: readonly string[]): string {
  const told = runs.filter(({ verdict }) => verdict !== 'no-loss');
  if (told.length === 0) {
    const least = Math.max(...runs.map(({ detectableFraction }) => detectableFraction));
    return `No hidden slowdown: ${listed(runs.map(({ label }) => label))} ${runs.length === 1 ? 'does' : 'do'} the work per cycle of ${listed(references)}; a loss of ${percent(least)} % would have shown.`;
  }
  const order = ['loss', 'more-work', 'may-wait'];
  return [...told]
    .sort((a, b) => order.indexOf(a.verdict) - order.indexOf(b.verdict))
    .map(({ sentence }) => sentence)
    .join(' ');
}

/** Whole megahertz, as on the axes and in the tables. */
export function megahertz(frequencyMHz: number): string {
  return Math.round(frequencyMHz).toString();
}

function percent(share: number): string {
  return (100 * share).toFixed(1);
}

function listed(labels: readonly string[]): string {
  if (labels.length <= 1) return labels[0] ?? '';
  return `${labels.slice(0, -1).join(', ')} and ${labels.at(-1)}`;
}
