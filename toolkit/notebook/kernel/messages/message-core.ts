import { setTimeout as pause } from 'node:timers/promises';
import type { CellResult, Evaluator } from '../evaluator/evaluator.js';
import { CellHistory } from './cell-history.js';
import { codePointOfOffset, offsetOfCodePoint } from './code-points.js';
import { Comms } from './comms.js';
import type { JupyterMessage, MessageContent } from './jupyter-message.js';
import type { MessageMaker } from './message-maker.js';
import type { OutputQueue } from './output-queue.js';
import type { ErrorOutput, KernelOutput } from './outputs.js';

/** What the core needs from the process around it. */
export interface MessageCoreOptions {
  readonly evaluator: Evaluator;
  readonly maker: MessageMaker;
  /** Answer to `kernel_info_request`. */
  readonly info: MessageContent;
  /** Sends a message; an answer comes with the request it goes back to. */
  readonly send: (message: JupyterMessage, request?: JupyterMessage) => void;
  /** Outputs wait here until `publish` is given them; flushed before a cell's end is told. */
  readonly outputs: OutputQueue;
  /** Changes an output on its way out; gets the cell's name and that of this run of it. */
  readonly refine?: (output: KernelOutput, cell: string, execution: string) => KernelOutput;
  /** Ends the process. */
  readonly shutdown: () => void;
}

/** Requests that must not wait for the running cell. */
const immediateTypes = ['interrupt_request', 'shutdown_request'];
/** After a failed cell: time for the cells sent along with it to arrive, so that they are not run. */
const arrivalMs = 20;

/**
 * The Jupyter messaging protocol 5.3 seen from the kernel, whatever carries the messages: every request gets its
 * answer, every answer stands between `busy` and `idle`, requests on the shell channel are answered in order.
 */
export class MessageCore {
  readonly comms: Comms;
  readonly #options: MessageCoreOptions;
  readonly #history = new CellHistory();
  readonly #waiting: JupyterMessage[] = [];
  #working = false;
  #executionCount = 0;
  /** The request that outputs belong to: the running cell, and after it the last one. */
  #shown: JupyterMessage | undefined;
  #silent = false;
  #failedOutside: ErrorOutput | undefined;

  constructor(options: MessageCoreOptions) {
    this.#options = options;
    this.comms = new Comms(
      (type, content) => this.#publish(type, content, this.#shown),
      () => options.maker.make('iopub', 'comm_open', {}).header.msg_id,
    );
  }

  /** Tells the pages that the kernel starts. */
  announce(): void {
    this.#publish('status', { execution_state: 'starting' });
  }

  /** Takes a message from a page. */
  receive(message: JupyterMessage): void {
    if (message.channel === 'control' || immediateTypes.includes(message.header.msg_type))
      void this.#handle(message);
    else {
      this.#waiting.push(message);
      void this.#work();
    }
  }

  /** Sends an output of the cell that runs or ran last. */
  publish(output: KernelOutput): void {
    const request = this.#shown;
    const refined =
      request === undefined
        ? output
        : (this.#options.refine?.(output, cellOf(request), request.header.msg_id) ?? output);
    const { output_type: type, ...content } = refined;
    if (this.#silent && type !== 'error') return;
    if ('display_id' in content) {
      const { display_id, ...rest } = content;
      this.#publish(type, { ...rest, transient: { display_id } }, this.#shown);
    } else if (type === 'display_data') this.#publish(type, { ...content, transient: {} }, this.#shown);
    else this.#publish(type, content, this.#shown);
  }

  /** Takes a failure outside the cell's own flow: in a timer, or in a promise nobody awaited. */
  reportOutside(thrown: unknown): void {
    const error = this.#describe(thrown);
    this.#failedOutside ??= error;
    this.#options.outputs.push(error);
  }

  async #work(): Promise<void> {
    if (this.#working) return;
    this.#working = true;
    try {
      for (let next = this.#waiting.shift(); next !== undefined; next = this.#waiting.shift())
        await this.#handle(next);
    } finally {
      this.#working = false;
    }
  }

  /** In plain words where a cell has broken what describes errors. */
  #describe(thrown: unknown): ErrorOutput {
    try {
      return this.#options.evaluator.describeError(thrown);
    } catch {
      const text = String(thrown);
      return { output_type: 'error', ename: 'Error', evalue: text, traceback: [text] };
    }
  }

  async #handle(request: JupyterMessage): Promise<void> {
    if (showsOutputs(request)) {
      this.#options.outputs.beginCell(); // what the last one still has to say is its own
      this.#shown = request;
    }
    this.#publish('status', { execution_state: 'busy' }, request);
    try {
      await this.#answer(request);
    } catch (thrown) {
      // Whatever went wrong, nobody waits for ever.
      const error = this.#describe(thrown);
      if (request.header.msg_type === 'execute_request') this.#options.outputs.push(error);
      const { ename, evalue, traceback } = error;
      const replyType = request.header.msg_type.replace(/_request$/, '_reply');
      if (replyType !== request.header.msg_type)
        this.#reply(request, replyType, { status: 'error', ename, evalue, traceback });
    } finally {
      this.#options.outputs.flush();
      this.#publish('status', { execution_state: 'idle' }, request);
    }
  }

  async #answer(request: JupyterMessage): Promise<void> {
    const { content } = request;
    const { evaluator } = this.#options;
    const type = request.header.msg_type;
    switch (type) {
      case 'execute_request':
        return this.#execute(request);
      case 'kernel_info_request':
        return this.#reply(request, 'kernel_info_reply', this.#options.info);
      case 'complete_request':
        return this.#reply(request, 'complete_reply', this.#complete(content));
      case 'inspect_request':
        return this.#reply(request, 'inspect_reply', this.#inspect(content));
      case 'is_complete_request':
        return this.#reply(request, 'is_complete_reply', { ...evaluator.checkComplete(codeOf(content)) });
      case 'history_request':
        return this.#reply(request, 'history_reply', {
          status: 'ok',
          history: this.#history.answer(content),
        });
      case 'comm_info_request': {
        const targetName = content['target_name'];
        const comms = this.comms.list(typeof targetName === 'string' ? targetName : undefined);
        return this.#reply(request, 'comm_info_reply', { status: 'ok', comms });
      }
      case 'comm_open':
      case 'comm_msg':
      case 'comm_close':
        return this.comms.receive(type, content);
      case 'interrupt_request':
        evaluator.interrupt();
        return this.#reply(request, 'interrupt_reply', { status: 'ok' });
      case 'shutdown_request':
        this.#reply(request, 'shutdown_reply', { status: 'ok', restart: content['restart'] === true });
        return this.#options.shutdown();
      case 'input_reply':
        return; // No cell can ask for input, so that nothing waits for this.
      default:
        // The protocol: unknown requests are ignored.
        return;
    }
  }

  async #execute(request: JupyterMessage): Promise<void> {
    const { content } = request;
    const code = codeOf(content);
    const silent = content['silent'] === true;
    const isEmpty = code.trim() === '';
    if (!silent && !isEmpty) {
      this.#executionCount += 1;
      if (content['store_history'] !== false) this.#history.add(this.#executionCount, code);
      this.#publish('execute_input', { code, execution_count: this.#executionCount }, request);
    }
    this.#failedOutside = undefined;
    this.#silent = silent;
    let result: CellResult = isEmpty
      ? { status: 'ok' }
      : await this.#options.evaluator.evaluate(code, this.#executionCount);
    if (result.status === 'error') this.#options.outputs.push(result.error);
    // One turn of the event loop, so that a rejection nobody awaits counts against the cell that caused it.
    await pause(0);
    this.#options.outputs.flush();
    this.#silent = false;
    if (result.status === 'ok' && this.#failedOutside !== undefined)
      result = { status: 'error', error: this.#failedOutside };
    const counted = { execution_count: this.#executionCount };
    if (result.status === 'ok')
      return this.#reply(request, 'execute_reply', {
        status: 'ok',
        ...counted,
        user_expressions: await this.#expressions(content['user_expressions']),
        payload: [],
      });
    // Cells sent before the failure was known are not run: they may build on what failed.
    const stops = content['stop_on_error'] !== false;
    if (stops) await pause(arrivalMs);
    const sentBefore = stops ? this.#waiting.splice(0) : [];
    const { ename, evalue, traceback } = result.error;
    this.#reply(request, 'execute_reply', { status: 'error', ...counted, ename, evalue, traceback });
    this.#drop(sentBefore);
  }

  #drop(messages: readonly JupyterMessage[]): void {
    for (const message of messages)
      if (message.header.msg_type !== 'execute_request') this.#waiting.push(message);
      else {
        this.#publish('status', { execution_state: 'busy' }, message);
        this.#reply(message, 'execute_reply', {
          status: 'aborted',
          execution_count: this.#executionCount,
        });
        this.#publish('status', { execution_state: 'idle' }, message);
      }
  }

  /** Values a page asks for beside the cell, each as a display bundle. */
  async #expressions(asked: unknown): Promise<MessageContent> {
    if (typeof asked !== 'object' || asked === null) return {};
    const answers: Record<string, unknown> = {};
    for (const [name, expression] of Object.entries(asked)) {
      const result = await this.#options.evaluator.valueOf(String(expression), this.#executionCount);
      if (result.status === 'ok') answers[name] = { status: 'ok', data: result.data, metadata: {} };
      else {
        const { ename, evalue, traceback } = result.error;
        answers[name] = { status: 'error', ename, evalue, traceback };
      }
    }
    return answers;
  }

  #complete(content: MessageContent): MessageContent {
    const code = codeOf(content);
    const { start, end, matches } = this.#options.evaluator.complete(code, placeOf(content, code));
    const [cursorStart, cursorEnd] = [codePointOfOffset(code, start), codePointOfOffset(code, end)];
    return {
      status: 'ok',
      matches: matches.map(({ text }) => text),
      cursor_start: cursorStart,
      cursor_end: cursorEnd,
      metadata: {
        // What JupyterLab reads to show what each candidate is.
        _jupyter_types_experimental: matches.map(({ text, kind }) => ({
          text,
          type: kind,
          start: cursorStart,
          end: cursorEnd,
        })),
      },
    };
  }

  #inspect(content: MessageContent): MessageContent {
    const code = codeOf(content);
    const found = this.#options.evaluator.inspect(code, placeOf(content, code));
    return {
      status: 'ok',
      found: found !== undefined,
      data: found === undefined ? {} : { 'text/markdown': found.markdown, 'text/plain': found.text },
      metadata: {},
    };
  }

  #reply(request: JupyterMessage, type: string, content: MessageContent): void {
    this.#options.send(this.#options.maker.make(request.channel, type, content, request), request);
  }

  #publish(type: string, content: MessageContent, parent?: JupyterMessage): void {
    this.#options.send(this.#options.maker.make('iopub', type, content, parent));
  }
}

/** Whether what is shown from now on belongs to this request. */
function showsOutputs({ header }: JupyterMessage): boolean {
  return header.msg_type === 'execute_request' || /^comm_(?:open|msg|close)$/.test(header.msg_type);
}

/** A page that knows its cells names them; else a cell is its code. */
function cellOf({ metadata, content }: JupyterMessage): string {
  const { cellId } = metadata;
  return typeof cellId === 'string' ? `id ${cellId}` : codeOf(content);
}

function codeOf(content: MessageContent): string {
  return typeof content['code'] === 'string' ? content['code'] : '';
}

function placeOf(content: MessageContent, code: string): number {
  const place = content['cursor_pos'];
  return typeof place === 'number' && place >= 0 ? offsetOfCodePoint(code, place) : code.length;
}
