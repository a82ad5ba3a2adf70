/** What the control thread of a kernel says when it is asked for its pulse. */
export interface PulseReply {
  /** Whether the main thread has taken a turn since the question: it is in no loop. */
  readonly turned: boolean;
  /** Whether it runs or compiles a cell. */
  readonly atWork: boolean;
}

/** The two ways to a kernel, and what was asked of it. */
export interface PulseSource {
  /** Asks the control thread; resolves when it has answered. */
  askControl(): Promise<PulseReply>;
  /** Asks the main thread on the way that requests take; resolves when it has answered. */
  askMain(): Promise<unknown>;
  /** Whether a request has been waiting for its answer longer than this many milliseconds. */
  waitsLongerThan(periodMs: number): boolean;
}

/** Periods in a row after which a kernel counts as lost: what it has computed is lost with it, so be patient. */
const patience = { silent: 6, deaf: 2 } as const;

/**
 * Notices a kernel that runs and yet can be reached no more, because a cell has broken what the kernel needs.
 *
 * A kernel at work answers nothing and is left alone. One is lost if its control thread is silent, if its main thread
 * takes turns and yet answers nothing, or if it has nothing to do while a request waits.
 *
 * @returns what ends the watch
 */
export function watchPulse(
  source: PulseSource,
  options: { readonly periodMs: number; readonly onLost: (reason: string) => void },
): () => void {
  const { periodMs, onLost } = options;
  let [silent, deaf, idleInDebt] = [0, 0, 0];
  let reply: PulseReply | undefined;
  let mainHasAnswered = true;

  function ask(): void {
    reply = undefined;
    source.askControl().then((answer) => {
      reply = answer;
      silent = 0;
    }, ignored);
    // A question that waits in line behind a long computation is not put again.
    if (!mainHasAnswered) return;
    mainHasAnswered = false;
    source.askMain().then(() => {
      mainHasAnswered = true;
    }, ignored);
  }

  function reasonToGiveUp(): string | undefined {
    silent += reply === undefined ? 1 : 0;
    const turned = reply?.turned === true;
    deaf = turned && !mainHasAnswered ? deaf + 1 : 0;
    idleInDebt = turned && reply?.atWork === false && source.waitsLongerThan(periodMs) ? idleInDebt + 1 : 0;
    if (silent >= patience.silent) return 'did not react any more';
    if (Math.max(deaf, idleInDebt) < patience.deaf) return undefined;
    return 'could be reached no more: a cell has broken what it needs';
  }

  ask();
  const timer = setInterval(() => {
    const reason = reasonToGiveUp();
    if (reason === undefined) return ask();
    clearInterval(timer);
    onLost(reason);
  }, periodMs);
  timer.unref();
  return () => clearInterval(timer);
}

function ignored(): void {}
