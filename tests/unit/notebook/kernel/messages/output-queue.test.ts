import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { appendOutput } from '../../../../../toolkit/notebook/kernel/messages/collected-outputs.js';
import { OutputQueue } from '../../../../../toolkit/notebook/kernel/messages/output-queue.js';
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
