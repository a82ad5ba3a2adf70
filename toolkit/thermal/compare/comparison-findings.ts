import { formatNumber } from '../../numerics/format-estimate.js';
import type { Finding } from '../../runs/finding.js';
import type { CoolerModel } from '../cooler-model.js';
import type { FanSetting } from './equal-sound.js';
import type { ResistanceParts } from './resistance-parts.js';

/** Logged mounts that differ this many times more than the allowance are more than chance. */
const LARGE_SPREAD_RATIO = 2;

/** What a person should know about a comparison, each with what to do about it. */
export function comparisonFindings(
  models: readonly CoolerModel[],
  parts: readonly ResistanceParts[],
  options: {
    readonly powerW: number;
    readonly mountAllowanceFraction: number;
    readonly soundLevelDb?: number;
    readonly fans: readonly (FanSetting | undefined)[];
  },
): Finding[] {
  return [
    seriousModels(models),
    subjectsDiffer(models, 'processor'),
    subjectsDiffer(models, 'enclosure'),
    extrapolated(models, parts, options.powerW),
    spreadAllowed(models, parts, options.mountAllowanceFraction),
    spreadLarge(models, parts, options.mountAllowanceFraction),
    options.soundLevelDb === undefined ? soundNotCompared() : soundByFanLaws(options.soundLevelDb),
    fanSpeedExtrapolated(models, options.fans),
  ].filter((finding) => finding !== undefined);
}

function seriousModels(models: readonly CoolerModel[]): Finding | undefined {
  const serious = models.filter((model) => model.findings.some(({ severity }) => severity === 'serious'));
  if (serious.length === 0) return undefined;
  return {
    code: 'models-with-serious-findings',
    severity: 'serious',
    message: `The fit${serious.length === 1 ? '' : 's'} of ${named(serious)} should not be used as ${serious.length === 1 ? 'it stands' : 'they stand'}; no verdict on ${serious.length === 1 ? 'it' : 'them'} holds before that is mended.`,
    remedy: 'read the findings of that model and log again what they ask for',
    count: serious.length,
  };
}

function subjectsDiffer(
  models: readonly CoolerModel[],
  what: 'processor' | 'enclosure',
): Finding | undefined {
  const found = [...new Set(models.map((model) => model[what]).filter((name) => name !== undefined))];
  if (found.length < 2) return undefined;
  return {
    code: `${what}s-differ`,
    severity: 'warning',
    message: `The runs are of different ${what}s (${found.join(', ')}); what is compared is cooler and ${what} together.`,
    remedy: `compare coolers that were logged with one ${what}`,
    count: found.length,
  };
}

function extrapolated(
  models: readonly CoolerModel[],
  parts: readonly ResistanceParts[],
  powerW: number,
): Finding | undefined {
  const beyond = models.filter((_, i) => parts[i].powerExtrapolated);
  if (beyond.length === 0) return undefined;
  return {
    code: 'power-not-logged',
    severity: 'warning',
    message: `${named(beyond)} ${beyond.length === 1 ? 'was' : 'were'} not logged at ${formatNumber(powerW, 'W')}; the resistance there is extrapolated and its interval wider.`,
    remedy: 'log all coolers at the power they are compared at',
    count: beyond.length,
  };
}

function spreadAllowed(
  models: readonly CoolerModel[],
  parts: readonly ResistanceParts[],
  allowanceFraction: number,
): Finding | undefined {
  const single = models.filter((_, i) => parts[i].mounts.mountCount === 1);
  if (single.length === 0) return undefined;
  if (allowanceFraction === 0) {
    return {
      code: 'mount-spread-left-out',
      severity: 'warning',
      message: `No allowance for mounting: the verdicts on ${named(single)} hold for the mounts that were logged, not for the coolers.`,
      remedy: 'leave mountAllowanceFraction out unless the coolers stayed mounted between the runs compared',
      count: single.length,
    };
  }
  return {
    code: 'mount-spread-assumed',
    severity: 'note',
    message:
      `One mount was logged of ${named(single)}. How much another would differ is assumed: ` +
      `${formatNumber(100 * allowanceFraction)} % of the resistance (one standard deviation).`,
    remedy: 'take the cooler off, mount it afresh, log again and give each run its conditions.mount',
    count: single.length,
  };
}

function spreadLarge(
  models: readonly CoolerModel[],
  parts: readonly ResistanceParts[],
  allowanceFraction: number,
): Finding | undefined {
  const wide = models.filter(
    (_, i) => (parts[i].mounts.loggedFraction ?? 0) > LARGE_SPREAD_RATIO * allowanceFraction,
  );
  if (allowanceFraction === 0 || wide.length === 0) return undefined;
  const widest = Math.max(...parts.map(({ mounts }) => mounts.loggedFraction ?? 0));
  return {
    code: 'mounts-differ-much',
    severity: 'warning',
    message: `The mounts of ${named(wide)} differ by up to ${formatNumber(100 * widest)} % (one standard deviation), far more than the ${formatNumber(100 * allowanceFraction)} % allowed for coolers with one mount.`,
    remedy:
      'look for a mount that went wrong (paste, screws, protective film); if all were sound, raise mountAllowanceFraction for the others too',
    count: wide.length,
  };
}

function soundNotCompared(): Finding {
  return {
    code: 'sound-level-not-compared',
    severity: 'note',
    message:
      'Compared at equal power and equal air, each cooler at the fan speed it was logged with; sound levels are not compared.',
    remedy:
      'where loudness counts, give options.equalSound with a sound level of each cooler and its fan curve; or log each at a fan speed of equal sound level and compare those runs',
  };
}

function soundByFanLaws(soundLevelDb: number): Finding {
  return {
    code: 'sound-level-by-fan-laws',
    severity: 'note',
    message: `Compared at ${formatNumber(soundLevelDb, 'dB')}: the fan speed of each cooler there follows from the level given for it by the fan laws (50 dB for ten times the speed), and its resistance from its fan curve.`,
    remedy:
      'check the level at the fan speeds found: the laws hold where the fan is all that is heard and all levels were read in one room at one distance',
  };
}

function fanSpeedExtrapolated(
  models: readonly CoolerModel[],
  fans: readonly (FanSetting | undefined)[],
): Finding | undefined {
  const beyond = models.filter((_, i) => fans[i]?.extrapolated === true);
  if (beyond.length === 0) return undefined;
  const speeds = fans
    .filter((fan) => fan?.extrapolated === true)
    .map((fan) => formatNumber(fan?.fanSpeedRpm ?? 0, 'rpm'));
  return {
    code: 'fan-speed-not-logged',
    severity: 'warning',
    message: `The fan speed of equal sound lies beyond those logged: ${named(beyond)} at ${speeds.join(', ')}.`,
    remedy: 'log each cooler at that speed, if its fan can turn so; or compare at another sound level',
    count: beyond.length,
  };
}

function named(models: readonly CoolerModel[]): string {
  const labels = models.map((model) => `"${model.label}"`);
  return labels.length < 2 ? labels.join('') : `${labels.slice(0, -1).join(', ')} and ${labels.at(-1)}`;
}
