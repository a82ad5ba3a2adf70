import type { EstimatedNumber } from '../../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import type { Finding } from '../../runs/finding.js';
import type { Run } from '../../runs/run.js';
import type { LoadSegment } from '../../runs/segments/run-segment.js';
import type { SteadyForecast } from './forecast.js';
import type { ForecastPosterior, SlowestPrior } from './forecast-posterior.js';
import type { ForecastRecord } from './forecast-record.js';

/** Where the posterior of the slowest log time constant keeps this share of the prior's spread, the prior speaks. */
const PRIOR_SHARE = 0.4;
/** Residual variance above this multiple of the assumed one is worth a warning. */
const NOTED_EXCESS_RATIO = 2;
/** Air that moves by more than this is not yet final, K/min. */
const NOTED_AIR_DRIFT_KPERMIN = 0.1;
/** Load powers of one stretch that differ by this ratio are two loads. */
const CHANGED_POWER_RATIO = 1.1;

/** What is seriously wrong with the log is wrong with every forecast from it. */
export function seriousFindings(run: Run): readonly Finding[] {
  return run.findings.filter(({ code, severity }) => severity === 'serious' || code === 'stuck-sensor');
}

/** What a person should know of a forecast: of the run, of what the forecast leans on, and what would help. */
export function forecastFindings({
  run,
  record,
  loads,
  posterior,
  slowest,
  prior,
  verdict,
  halfWidthK,
}: {
  readonly run: Run;
  readonly record: ForecastRecord;
  readonly loads: readonly LoadSegment[];
  readonly posterior: ForecastPosterior;
  readonly slowest: EstimatedNumber;
  readonly prior: SlowestPrior;
  readonly verdict: SteadyForecast['verdict'];
  readonly halfWidthK: number;
}): Finding[] {
  const findings: Finding[] = [...seriousFindings(run)];
  const last = loads[loads.length - 1];
  const logSpread = slowest.standardError / slowest.value;
  if (logSpread > PRIOR_SHARE * prior.logStandardDeviation) {
    findings.push({
      code: 'leans-on-prior',
      severity: 'note',
      message:
        `The load has not lasted long enough to show the slowest time constant, ${formatEstimate(slowest, 's')}: the ` +
        'forecast leans on where it usually lies.',
      remedy:
        'log on; or, where the kind of cooler is known, narrow options.slowestTimeConstantS: 60 to 250 s for air, 250 to 700 s for liquid',
    });
  }
  if (last.limitedBy === 'temperature') {
    findings.push({
      code: 'held-by-temperature',
      severity: 'warning',
      message:
        'The processor holds its power down to stay at its temperature limit; the forecast is for the mean power of that, and ' +
        'the power will go on changing.',
      remedy: 'log a run at a lower cap: here power, not temperature, is what settles',
      rangeS: [last.startS, last.endS],
    });
  }
  const powers = loads.map(({ meanPowerW }) => meanPowerW);
  if (Math.max(...powers) > CHANGED_POWER_RATIO * Math.min(...powers)) {
    findings.push({
      code: 'power-changed',
      severity: 'note',
      message:
        `The load went from ${formatNumber(powers[0], 'W')} to ${formatNumber(record.loadPowerW, 'W')}; the forecast is for ` +
        'the present power.',
      rangeS: [last.startS, last.endS],
    });
  }
  if (last.endIndex < run.timeS.length) {
    findings.push({
      code: 'load-ended',
      severity: 'note',
      message: `The load ended at ${formatNumber(last.endS, 's')}; what came after was left out.`,
    });
  }
  if (record.startsUnderLoad) {
    findings.push({
      code: 'starts-under-load',
      severity: 'note',
      message:
        'The log starts under load: nothing is known of what went before, and each stage was given a start of its own.',
      remedy: 'start the log a minute before the load',
    });
  }
  if (record.gapEnds.length > 0) {
    findings.push({
      code: 'gap-new-start',
      severity: 'note',
      message: `The run has ${record.gapEnds.length} gap${record.gapEnds.length === 1 ? '' : 's'}; the power in between is not known, and each stage was left free there.`,
      count: record.gapEnds.length,
    });
  }
  if (!record.ambientMeasured) {
    findings.push({
      code: 'air-not-measured',
      severity: 'note',
      message: 'One air temperature stands for the whole run; the interval allows for a room that drifts.',
      remedy: 'log the air at the intake',
    });
  }
  if (Math.abs(record.airDriftKPerMin) > NOTED_AIR_DRIFT_KPERMIN) {
    findings.push({
      code: 'air-drifting',
      severity: 'warning',
      message:
        `The air at the intake has changed by ${formatNumber(record.airDriftKPerMin, 'K/min')} over the last minutes; the ` +
        `forecast is for the air as it is now, ${formatNumber(record.endAmbientC, '°C')}.`,
      remedy:
        'add what the air will still change; or wait until the room, or the enclosure around it, has settled',
    });
  }
  if (posterior.excessVarianceRatio > NOTED_EXCESS_RATIO) {
    findings.push({
      code: 'structured-residuals',
      severity: 'warning',
      message:
        `The run departs from any sum of stages ${formatNumber(Math.sqrt(posterior.excessVarianceRatio))} times as much as its ` +
        'noise explains; the interval was widened by as much.',
      remedy: 'look at the run: a change of fan speed or of the air at the intake is the usual cause',
    });
  }
  if (verdict === 'out-of-reach') {
    findings.push({
      code: 'half-width-out-of-reach',
      severity: 'note',
      message: `A half-width of ${formatNumber(halfWidthK, 'K')} is not reached within another hour of load.`,
      remedy: record.ambientMeasured
        ? 'ask for a larger half-width; drifts of the air and the sensor set the floor'
        : 'log the air at the intake, or ask for a larger half-width',
    });
  }
  return findings;
}
