import { setTimeout as pause } from 'node:timers/promises';
import { beforeEach, describe, expect, it } from 'vitest';
import type { CellResult, Evaluator } from '../../../../../toolkit/notebook/kernel/evaluator/evaluator.js';
import type {
  JupyterMessage,
  MessageContent,
} from '../../../../../toolkit/notebook/kernel/messages/jupyter-message.js';
import { MessageCore } from '../../../../../toolkit/notebook/kernel/messages/message-core.js';
import { createMessageMaker } from '../../../../../toolkit/notebook/kernel/messages/message-maker.js';
import { OutputQueue } from '../../../../../toolkit/notebook/kernel/messages/output-queue.js';
import type { ErrorOutput } from '../../../../../toolkit/notebook/kernel/messages/outputs.js';

// Message types and fields as "Messaging in Jupyter", protocol 5.3, gives them (jupyter-client documentation).

const failure: ErrorOutput = { output_type: 'error', ename: 'E', evalue: 'no', traceback: ['E: no'] };

/** An evaluator whose cells are words: what it prints, shows, fails with or waits for. */
class WordEvaluator implements Evaluator {
  readonly seen: string[] = [];
  interrupted = 0;
  #stop: (result: CellResult) => void = () => {};

  constructor(readonly outputs: OutputQueue) {}

  async evaluate(code: string, executionCount: number): Promise<CellResult> {
    this.seen.push(code);
    if (code === 'print') this.outputs.write('stdout', 'text');
    if (code === 'value')
      this.outputs.push({
        output_type: 'execute_result',
        data: { 'text/plain': '2' },
        metadata: {},
        execution_count: executionCount,
      });
    if (code === 'fail') return { status: 'error', error: failure };
    if (code === 'break') throw new Error('the evaluator broke');
    if (code === 'wait')
      return new Promise((resolve) => {
        this.#stop = resolve;
      });
    return { status: 'ok' };
  }

  async valueOf(expression: string): Promise<Awaited<ReturnType<Evaluator['valueOf']>>> {
    return expression === 'bad'
      ? { status: 'error', error: failure }
      : { status: 'ok', data: { 'text/plain': expression } };
  }

  describeError(error: unknown): ErrorOutput {
    return { ...failure, evalue: error instanceof Error ? error.message : String(error) };
  }

  complete(_code: string, position: number): ReturnType<Evaluator['complete']> {
    return { start: position - 1, end: position, matches: [{ text: 'known', kind: 'const' }] };
  }

  inspect(code: string, position: number): ReturnType<Evaluator['inspect']> {
    return code === '' ? undefined : { text: `at ${position}`, markdown: `**at ${position}**` };
  }

  checkComplete(code: string): ReturnType<Evaluator['checkComplete']> {
    return code.endsWith('{') ? { status: 'incomplete', indent: '  ' } : { status: 'complete' };
  }

  warmUp(): void {}

  interrupt(): void {
    this.interrupted += 1;
    this.#stop({ status: 'error', error: failure });
  }

  close(): void {}
}

const page = createMessageMaker({ username: 'page', session: 'page' });
let sent: { readonly message: JupyterMessage; readonly request?: JupyterMessage }[];
let core: MessageCore;
let evaluator: WordEvaluator;
let shutdowns: number;

beforeEach(() => {
  sent = [];
  shutdowns = 0;
  const outputs = new OutputQueue((output) => core.publish(output));
  evaluator = new WordEvaluator(outputs);
  core = new MessageCore({
    evaluator,
    outputs,
    maker: createMessageMaker({ username: 'kernel', session: 'kernel' }),
    info: { status: 'ok', protocol_version: '5.3' },
    send: (message, request) => sent.push(request === undefined ? { message } : { message, request }),
    shutdown: () => {
      shutdowns += 1;
    },
  });
});

/** Sends a request and waits until the kernel is idle again; all messages that answer it. */
async function ask(
  type: string,
  content: MessageContent = {},
  channel: 'shell' | 'control' = 'shell',
): Promise<readonly JupyterMessage[]> {
  const request = page.make(channel, type, content);
  core.receive(request);
  return answersTo(request);
}

async function answersTo(request: JupyterMessage): Promise<readonly JupyterMessage[]> {
  for (let i = 0; i < 500; i += 1) {
    const answers = sent
      .map(({ message }) => message)
      .filter((message) => message.parent_header.msg_id === request.header.msg_id);
    if (answers.at(-1)?.content['execution_state'] === 'idle') return answers;
    await pause(2);
  }
  throw new Error(`no end of ${request.header.msg_type}`);
}

const typesOf = (messages: readonly JupyterMessage[]): readonly string[] =>
  messages.map(({ header, content }) =>
    header.msg_type === 'status' ? String(content['execution_state']) : header.msg_type,
  );
const replyIn = (messages: readonly JupyterMessage[]): MessageContent =>
  messages.find(({ header }) => header.msg_type.endsWith('_reply'))?.content ?? {};

describe('execute_request', () => {
  it('is answered between busy and idle: input, outputs, reply', async () => {
    const messages = await ask('execute_request', { code: 'value' });
    expect(typesOf(messages)).toEqual(['busy', 'execute_input', 'execute_result', 'execute_reply', 'idle']);
    expect(messages[1]?.content).toEqual({ code: 'value', execution_count: 1 });
    expect(messages[2]?.content).toEqual({ data: { 'text/plain': '2' }, metadata: {}, execution_count: 1 });
    expect(replyIn(messages)).toEqual({
      status: 'ok',
      execution_count: 1,
      user_expressions: {},
      payload: [],
    });
    expect(messages.map(({ channel }) => channel)).toEqual(['iopub', 'iopub', 'iopub', 'shell', 'iopub']);
    expect(sent.find(({ message }) => message.channel === 'shell')?.request?.content).toEqual({
      code: 'value',
    });
    expect(messages.every(({ header }) => header.version === '5.3' && header.session === 'kernel')).toBe(
      true,
    );
  });

  it('sends what was printed before the reply, though the text still waits to be joined', async () => {
    expect(typesOf(await ask('execute_request', { code: 'print' }))).toEqual([
      'busy',
      'execute_input',
      'stream',
      'execute_reply',
      'idle',
    ]);
  });

  it('makes a failure an error message and an error reply of the same content', async () => {
    const messages = await ask('execute_request', { code: 'fail' });
    const { output_type: _, ...content } = failure;
    expect(messages.find(({ header }) => header.msg_type === 'error')?.content).toEqual(content);
    expect(replyIn(messages)).toEqual({ status: 'error', execution_count: 1, ...content });
  });

  it('counts cells, but neither silent nor empty ones, and keeps silent ones silent', async () => {
    await ask('execute_request', { code: 'a' });
    expect(typesOf(await ask('execute_request', { code: 'value', silent: true }))).toEqual([
      'busy',
      'execute_reply',
      'idle',
    ]);
    expect(replyIn(await ask('execute_request', { code: '  \n' }))['execution_count']).toBe(1);
    expect(replyIn(await ask('execute_request', { code: 'b' }))['execution_count']).toBe(2);
  });

  it('does not run the cells that were sent along with one that fails, unless told to', async () => {
    const [first, second, info, third] = [
      page.make('shell', 'execute_request', { code: 'fail' }),
      page.make('shell', 'execute_request', { code: 'second' }),
      page.make('shell', 'kernel_info_request', {}),
      page.make('shell', 'execute_request', { code: 'third', stop_on_error: false }),
    ] as const;
    for (const message of [first, second, info]) core.receive(message);
    await pause(5);
    core.receive(third); // while the kernel still waits for late ones
    expect(replyIn(await answersTo(second))).toEqual({ status: 'aborted', execution_count: 1 });
    expect(replyIn(await answersTo(third))['status']).toBe('aborted');
    expect(replyIn(await answersTo(info))['protocol_version']).toBe('5.3');
    expect(evaluator.seen).toEqual(['fail']);
    await ask('execute_request', { code: 'fail', stop_on_error: false });
    expect(replyIn(await ask('execute_request', { code: 'after' }))['status']).toBe('ok');
  });

  it('answers the expressions a page asks for beside the cell', async () => {
    const reply = replyIn(
      await ask('execute_request', { code: 'a', user_expressions: { good: '1 + 1', wrong: 'bad' } }),
    );
    expect(reply['user_expressions']).toMatchObject({
      good: { status: 'ok', data: { 'text/plain': '1 + 1' } },
      wrong: { status: 'error', evalue: 'no' },
    });
  });

  it('counts a failure outside the flow of the cell against the cell', async () => {
    const request = page.make('shell', 'execute_request', { code: 'wait' });
    core.receive(request);
    core.reportOutside(new Error('nobody waited'));
    core.receive(page.make('control', 'interrupt_request', {}));
    expect(replyIn(await answersTo(request))['status']).toBe('error');
    expect(sent.some(({ message }) => message.content['evalue'] === 'nobody waited')).toBe(true);
  });

  it('answers with an error when the evaluator itself breaks, and goes on', async () => {
    expect(replyIn(await ask('execute_request', { code: 'break' }))).toMatchObject({
      status: 'error',
      evalue: 'the evaluator broke',
    });
    expect(replyIn(await ask('execute_request', { code: 'after' }))['status']).toBe('ok');
  });
});

describe('outputs', () => {
  it('carry display ids in transient, and updates and clearings have messages of their own', async () => {
    await ask('execute_request', { code: 'a' });
    const data = { 'text/plain': 'x' };
    core.publish({ output_type: 'display_data', data, metadata: {} });
    core.publish({ output_type: 'display_data', data, metadata: {}, display_id: 'd' });
    core.publish({ output_type: 'update_display_data', data, metadata: {}, display_id: 'd' });
    core.publish({ output_type: 'clear_output', wait: true });
    const last = sent.slice(-4).map(({ message }) => [message.header.msg_type, message.content]);
    expect(last).toEqual([
      ['display_data', { data, metadata: {}, transient: {} }],
      ['display_data', { data, metadata: {}, transient: { display_id: 'd' } }],
      ['update_display_data', { data, metadata: {}, transient: { display_id: 'd' } }],
      ['clear_output', { wait: true }],
    ]);
  });

  it('of a timer belong to the cell that ran last, not to a completion in between', async () => {
    const messages = await ask('execute_request', { code: 'a' });
    await ask('complete_request', { code: 'k', cursor_pos: 1 });
    core.publish({ output_type: 'stream', name: 'stdout', text: 'late' });
    expect(sent.at(-1)?.message.parent_header.msg_id).toBe(messages[0]?.parent_header.msg_id);
  });
});

describe('questions', () => {
  it('are answered by kernel_info, is_complete and history', async () => {
    expect(replyIn(await ask('kernel_info_request'))).toEqual({ status: 'ok', protocol_version: '5.3' });
    expect(replyIn(await ask('is_complete_request', { code: 'if (a) {' }))).toEqual({
      status: 'incomplete',
      indent: '  ',
    });
    await ask('execute_request', { code: 'first' });
    await ask('execute_request', { code: 'kept out', store_history: false });
    await ask('execute_request', { code: 'second' });
    const history = async (request: MessageContent): Promise<unknown> =>
      replyIn(await ask('history_request', request))['history'];
    expect(await history({ hist_access_type: 'tail', n: 1 })).toEqual([[0, 3, 'second']]);
    expect(await history({ hist_access_type: 'range', session: 0, start: 1, stop: 2, output: true })).toEqual(
      [[0, 1, ['first', null]]],
    );
    expect(await history({ hist_access_type: 'search', pattern: '*co?d', n: 5 })).toEqual([[0, 3, 'second']]);
  });

  it('count places in code points: a character beyond 16 bits before the cursor is one', async () => {
    const code = "'🎭' + k";
    const reply = replyIn(await ask('complete_request', { code, cursor_pos: 7 }));
    expect([reply['cursor_start'], reply['cursor_end']]).toEqual([6, 7]);
    expect(reply['matches']).toEqual(['known']);
    const inspected = replyIn(await ask('inspect_request', { code, cursor_pos: 7 }));
    expect(inspected).toMatchObject({ status: 'ok', found: true, data: { 'text/plain': 'at 8' } });
    expect(replyIn(await ask('inspect_request', { code: '', cursor_pos: 0 }))).toEqual({
      status: 'ok',
      found: false,
      data: {},
      metadata: {},
    });
  });

  it('of an unknown type are ignored, as the protocol asks, and an answer to no question too', async () => {
    expect(typesOf(await ask('debug_request'))).toEqual(['busy', 'idle']);
    expect(typesOf(await ask('input_reply', { value: 'x' }))).toEqual(['busy', 'idle']);
  });
});

describe('control', () => {
  it('is heard while a cell runs', async () => {
    const cell = page.make('shell', 'execute_request', { code: 'wait' });
    core.receive(cell);
    await pause(1);
    expect(replyIn(await ask('kernel_info_request', {}, 'control'))['status']).toBe('ok');
    expect(replyIn(await ask('interrupt_request', {}, 'control'))).toEqual({ status: 'ok' });
    expect(evaluator.interrupted).toBe(1);
    expect(replyIn(await answersTo(cell))['status']).toBe('error');
  });

  it('ends the kernel after the reply', async () => {
    expect(replyIn(await ask('shutdown_request', { restart: true }, 'control'))).toEqual({
      status: 'ok',
      restart: true,
    });
    expect(shutdowns).toBe(1);
  });
});

describe('comms', () => {
  it('opened by a page reach the cell that waits for their name, and go both ways until closed', async () => {
    const heard: unknown[] = [];
    core.comms.onOpen('panel', (comm, data) => {
      heard.push(data);
      comm.onMessage = (message) => {
        heard.push(message);
        comm.send({ echo: message });
      };
      comm.onClose = () => heard.push('closed');
    });
    await ask('comm_open', { comm_id: 'c', target_name: 'panel', data: 1 });
    expect(replyIn(await ask('comm_info_request'))).toEqual({
      status: 'ok',
      comms: { c: { target_name: 'panel' } },
    });
    expect(replyIn(await ask('comm_info_request', { target_name: 'other' }))['comms']).toEqual({});
    const answers = await ask('comm_msg', { comm_id: 'c', data: 2 });
    expect(answers.find(({ header }) => header.msg_type === 'comm_msg')?.content).toEqual({
      comm_id: 'c',
      data: { echo: 2 },
    });
    await ask('comm_close', { comm_id: 'c', data: {} });
    expect(heard).toEqual([1, 2, 'closed']);
    expect(replyIn(await ask('comm_info_request'))['comms']).toEqual({});
  });

  it('of an unknown name are closed at once, and messages to closed ones are ignored', async () => {
    const answers = await ask('comm_open', { comm_id: 'x', target_name: 'unknown', data: {} });
    expect(typesOf(answers)).toEqual(['busy', 'comm_close', 'idle']);
    expect(typesOf(await ask('comm_msg', { comm_id: 'x', data: 1 }))).toEqual(['busy', 'idle']);
  });

  it('opened by a cell are announced, and closed by it once', () => {
    const comm = core.comms.open('panel', { a: 1 });
    comm.send(1);
    comm.close();
    comm.close();
    comm.send(2);
    expect(sent.map(({ message }) => message.header.msg_type)).toEqual([
      'comm_open',
      'comm_msg',
      'comm_close',
    ]);
  });
});
