import { describe, expect, it } from 'vitest';
import { CollectedOutputs } from '../../../../../toolkit/notebook/kernel/messages/collected-outputs.js';
import type { CellOutput, KernelOutput } from '../../../../../toolkit/notebook/kernel/messages/outputs.js';

const text = (words: string): CellOutput => ({ output_type: 'stream', name: 'stdout', text: words });
const shown = (words: string): CellOutput => ({
  output_type: 'display_data',
  data: { 'text/plain': words },
  metadata: {},
});
const named = (words: string, id: string): KernelOutput => ({
  output_type: 'display_data',
  data: { 'text/plain': words },
  metadata: {},
  display_id: id,
});
const update = (words: string, id: string): KernelOutput => ({
  output_type: 'update_display_data',
  data: { 'text/plain': words },
  metadata: {},
  display_id: id,
});

describe('collected outputs', () => {
  it('hold an update in its place, also in an earlier cell, and not the update itself', () => {
    const collected = new CollectedOutputs();
    const first = collected.startCell();
    collected.add(named('0 of 2', 'p'));
    collected.add(text('between'));
    collected.add(update('1 of 2', 'p'));
    expect(first).toEqual([shown('1 of 2'), text('between')]);
    const second = collected.startCell();
    collected.add(named('again', 'p'));
    collected.add(update('2 of 2', 'p'));
    collected.add(update('lost', 'unknown'));
    expect(first[0]).toEqual(shown('2 of 2'));
    expect(second).toEqual([shown('2 of 2')]);
  });

  it('are emptied at once, or when the next output comes', () => {
    const collected = new CollectedOutputs();
    const outputs = collected.startCell();
    collected.add(named('a', 'd'));
    collected.add({ output_type: 'clear_output', wait: true });
    expect(outputs).toEqual([shown('a')]);
    collected.add(text('b'));
    expect(outputs).toEqual([text('b')]);
    collected.add(update('gone', 'd'));
    expect(outputs).toEqual([text('b')]);
    collected.add({ output_type: 'clear_output', wait: false });
    expect(outputs).toEqual([]);
  });
});
