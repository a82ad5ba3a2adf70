import { type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { figureOfRun } from '../../figures/figure-of-run.js';
import { FOLLOW_RUN_NAMES, type FollowRunOptions, followRun } from '../../logs/read/follow-run-node.js';
import type { Run } from '../../runs/run.js';
import type { Forecast } from '../../thermal/forecast/forecast.js';
import { type ForecastSteadyOptions, forecastSteady } from '../../thermal/forecast/forecast-steady.js';
import type { MimeBundle } from '../kernel/messages/outputs.js';
import { displayBundles } from './display-bundle.js';
import { notebookHook } from './display-hook.js';

/** How a run is watched while it is logged. */
export interface WatchRunOptions extends FollowRunOptions, ForecastSteadyOptions {
  /** Called with each forecast and the run it was made from. */
  readonly onForecast?: (forecast: Forecast, run: Run) => void;
}

const OPTION_NAMES: KnownNames<WatchRunOptions> = {
  ...FOLLOW_RUN_NAMES,
  halfWidthK: true,
  slowestTimeConstantS: true,
  idleBelowW: true,
  onForecast: true,
};

/** A run that was watched, and how far it got. */
export interface WatchedRun {
  readonly kind: 'watched-run';
  /** `half-width-reached`: the steady temperature is known well enough, and the load may end. */
  readonly reason: 'half-width-reached' | 'log-ended' | 'aborted';
  readonly run: Run;
  readonly forecast: Forecast;
}

let watchedCount = 0;

/**
 * Watches a load run while it is being logged: a picture of the run so far and the forecast of its steady temperature, both
 * updated in place below the cell. Stops by itself when the forecast is as narrow as wanted (`halfWidthK`), or when the log
 * ends. Outside a notebook each new sentence goes to standard output.
 *
 * @param path - the log that is being written
 * @param options - of `followRun` and of `forecastSteady`
 * @returns the run, the last forecast, and why the watching ended
 * @throws LogFormatError if the log cannot be read without guessing
 * @throws ArgumentError if an option is not what it must be
 * @example
 * await watchRun('no-such-log.csv', { endAfterS: 0.01, everyS: 0.01 }); // => throws /there is no such file/
 */
export async function watchRun(path: string, options: WatchRunOptions = {}): Promise<WatchedRun> {
  requireKnownNames(options, OPTION_NAMES, { caller: 'watchRun', argument: 'options' });
  const { halfWidthK, slowestTimeConstantS, idleBelowW, onForecast, ...following } = options;
  if (halfWidthK !== undefined)
    requireNumber(halfWidthK, { caller: 'watchRun', argument: 'options.halfWidthK' }, { above: 0 });
  const forecastOptions: ForecastSteadyOptions = {
    ...(halfWidthK === undefined ? {} : { halfWidthK }),
    ...(slowestTimeConstantS === undefined ? {} : { slowestTimeConstantS }),
    ...(idleBelowW === undefined ? {} : { idleBelowW }),
  };
  const places = displayPlaces(2);
  let said = '';
  let last: { readonly run: Run; readonly forecast: Forecast } | undefined;
  for await (const run of followRun(path, following)) {
    const forecast = forecastSteady(run, forecastOptions);
    last = { run, forecast };
    const sentence = forecast.kind === 'forecast' ? forecast.summary : forecast.reason;
    if (places === undefined) {
      if (sentence !== said) console.log(sentence);
    } else {
      places[0]({
        'text/markdown': `**${run.label}:** ${sentence}`,
        'text/plain': `${run.label}: ${sentence}`,
      });
      places[1](displayBundles(figureOfRun(run))[0]);
    }
    said = sentence;
    onForecast?.(forecast, run);
    if (forecast.kind === 'forecast' && forecast.verdict === 'known')
      return { kind: 'watched-run', reason: 'half-width-reached', run, forecast };
  }
  if (last === undefined)
    throw options.signal?.reason ?? new Error('watchRun: ended before the log had a run');
  return { kind: 'watched-run', reason: options.signal?.aborted === true ? 'aborted' : 'log-ended', ...last };
}

/** Places below the cell, each filled anew by the next bundle; undefined outside a notebook. */
function displayPlaces(count: number): readonly ((bundle: MimeBundle) => void)[] | undefined {
  const hook = notebookHook();
  if (hook === undefined) return undefined;
  watchedCount++;
  return Array.from({ length: count }, (_, place) => {
    const displayId = `watched-run-${watchedCount}-${place}`;
    let isShown = false;
    return (bundle: MimeBundle): void => {
      hook.display(bundle, { displayId, update: isShown });
      isShown = true;
    };
  });
}
