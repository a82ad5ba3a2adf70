import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { appendOutput } from '../../../../../toolkit/notebook/kernel/messages/collected-outputs.js';
import {
  mostDisplays,
  mostText,
  OutputQueue,
  tooManyText,
  tooMuchText,
} from '../../../../../toolkit/notebook/kernel/messages/output-queue.js';
import type { CellOutput, KernelOutput } from '../../../../../toolkit/notebook/kernel/messages/outputs.js';

const display: CellOutput = { output_type: 'display_data', data: { 'text/plain': 'x' }, metadata: {} };
const text = (name: 'stdout' | 'stderr', written: string): CellOutput => ({
  output_type: 'stream',
  name,
  text: written,
});

describe('OutputQueue', () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  it('joins text written in quick succession and sends it after 25 ms', () => {
    const sent: KernelOutput[] = [];
    const queue = new OutputQueue((output) => sent.push(output));
    queue.write('stdout', 'a');
    queue.write('stdout', 'b');
    queue.write('stdout', '');
    expect(sent).toEqual([]);
    vi.advanceTimersByTime(25);
    expect(sent).toEqual([text('stdout', 'ab')]);
  });

  it('keeps the order of the two streams and of displays', () => {
    const sent: KernelOutput[] = [];
    const queue = new OutputQueue((output) => sent.push(output));
    queue.write('stdout', '1');
    queue.write('stderr', '2');
    queue.write('stdout', '3');
    queue.push(display);
    queue.write('stdout', '4');
    queue.flush();
    queue.flush();
    expect(sent).toEqual([
      text('stdout', '1'),
      text('stderr', '2'),
      text('stdout', '3'),
      display,
      text('stdout', '4'),
    ]);
  });

  it('sends from inside a loop that never yields', () => {
    const sent: KernelOutput[] = [];
    const queue = new OutputQueue((output) => sent.push(output));
    queue.write('stdout', 'early');
    vi.setSystemTime(Date.now() + 30);
    vi.spyOn(performance, 'now').mockReturnValue(1e9);
    queue.write('stdout', ' late');
    expect(sent).toEqual([text('stdout', 'early late')]);
    vi.restoreAllMocks();
  });

  it('waits the longer for more, the more there is to show', () => {
    const sent: KernelOutput[] = [];
    const queue = new OutputQueue((output) => sent.push(output));
    queue.write('stdout', 'x\n'.repeat(50_000));
    vi.advanceTimersByTime(500);
    expect(sent).toEqual([]);
    vi.advanceTimersByTime(200);
    expect(sent).toHaveLength(1);
  });

  it('ends what a cell prints without end with a word on it, and begins again with the next cell', () => {
    const sent: KernelOutput[] = [];
    const queue = new OutputQueue((output) => sent.push(output));
    const printed = (): string => sent.map((output) => ('text' in output ? output.text : '')).join('');
    const lines = 'x\n'.repeat(mostText.lineCount);
    for (let i = 0; i < mostText.lineCount; i++) queue.write('stdout', 'x\n');
    queue.flush();
    expect(printed()).toBe(lines);
    for (let i = 0; i < 10; i++) queue.write('stdout', 'more\n');
    expect(printed()).toBe(lines + tooMuchText);
    queue.push(display);
    expect(sent.at(-1)).toBe(display);

    sent.length = 0;
    queue.beginCell();
    const most = 'y'.repeat(mostText.characterCount);
    queue.write('stdout', most.slice(1));
    queue.write('stdout', 'yz');
    queue.write('stderr', 'z');
    expect(printed()).toBe(most + tooMuchText);

    sent.length = 0;
    queue.beginCell();
    for (let i = 0; i < mostText.lineCount; i++) {
      queue.write('stdout', 'x');
      queue.write('stderr', 'y');
    }
    expect(sent.length).toBeLessThan(mostText.lineCount / 10);
    expect(printed().endsWith(tooMuchText)).toBe(true);

    sent.length = 0;
    queue.push({ output_type: 'clear_output', wait: false });
    queue.write('stdout', 'shown again');
    queue.flush();
    expect(printed()).toBe('shown again');
  });
});

describe('OutputQueue, what a cell shows without end', () => {
  it('ends with a word on it, by count and by size; values, errors and updates still come', () => {
    const sent: KernelOutput[] = [];
    const queue = new OutputQueue((output) => sent.push(output));
    for (let i = 0; i < mostDisplays.count + 50; i++) queue.push(display);
    expect(sent).toHaveLength(mostDisplays.count + 1);
    expect(sent.at(-1)).toEqual(text('stderr', tooManyText));
    const update: KernelOutput = { ...display, output_type: 'update_display_data', display_id: 'x' } as never;
    const value: KernelOutput = { ...display, output_type: 'execute_result', execution_count: 1 } as never;
    queue.push(update);
    queue.push(value);
    expect(sent.slice(-2)).toEqual([update, value]);

    sent.length = 0;
    queue.beginCell();
    const large: CellOutput = {
      ...display,
      data: { 'text/html': 'x'.repeat(mostDisplays.characterCount / 2) },
    } as never;
    for (let i = 0; i < 5; i++) queue.push(large);
    expect(sent).toEqual([large, large, text('stderr', tooManyText)]);
  });
});

describe('appendOutput', () => {
  it('joins neighbouring text of one stream only', () => {
    const outputs: CellOutput[] = [];
    for (const output of [
      text('stdout', 'a'),
      text('stdout', 'b'),
      text('stderr', 'c'),
      display,
      text('stderr', 'd'),
    ])
      appendOutput(outputs, output);
    expect(outputs).toEqual([text('stdout', 'ab'), text('stderr', 'c'), display, text('stderr', 'd')]);
  });
});
