import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { parseRunStream } from '../../../../toolkit/logs/read/parse-run-stream.js';

const TEXT = `time_s,temperature_c,power_w\n${Array.from({ length: 20_000 }, (_, i) => `${i},${40 + (i % 7)}.5,65.25`).join('\n')}\n`;
const bytes = new TextEncoder().encode(TEXT);

describe('parseRunStream', () => {
  it('reads what a browser has: a blob, a stream, bytes', async () => {
    for (const source of [
      new Blob([bytes]),
      new Blob([bytes]).stream() as ReadableStream<Uint8Array>,
      bytes,
    ]) {
      const run = await parseRunStream(source, { label: 'picked' });
      expect(run.label).toBe('picked');
      expect(run.timeS).toHaveLength(20_000);
    }
  });

  it('unpacks gzip, in one member or several', async () => {
    const half = bytes.length >> 1;
    const packed = gzipSync(bytes);
    expect((await parseRunStream(packed)).timeS).toHaveLength(20_000);
    const members = Buffer.concat([gzipSync(bytes.subarray(0, half)), gzipSync(bytes.subarray(half))]);
    expect((await parseRunStream(members)).timeS).toHaveLength(20_000);
  });

  it('names a packed log that is cut off or damaged', async () => {
    const packed = gzipSync(bytes);
    const message = 'the packed log ends too early or is damaged';
    await expect(parseRunStream(packed.subarray(0, packed.length >> 1))).rejects.toThrow(message);
    const damaged = packed.slice();
    damaged.fill(7, 1000, 1200);
    await expect(parseRunStream(damaged)).rejects.toThrow(message);
  });

  it('tells how far it is, and stops when it is told to', async () => {
    const told: (readonly [number, number])[] = [];
    await parseRunStream(new Blob([bytes]), { onProgress: (done, count) => told.push([done, count]) });
    expect(told.length).toBeGreaterThanOrEqual(1);
    expect(told.at(-1)?.[0]).toBe(1);
    expect(told.every(([done], i) => i === 0 || done >= told[i - 1][0])).toBe(true);

    const ending = new AbortController();
    const reason = new Error('enough');
    const reading = parseRunStream(new Blob([bytes]), {
      signal: ending.signal,
      onProgress: () => ending.abort(reason),
    });
    await expect(reading).rejects.toBe(reason);
    await expect(parseRunStream(new Blob([bytes]), { signal: AbortSignal.abort(reason) })).rejects.toBe(
      reason,
    );
  });

  it('lets go of the stream where a log cannot be read', async () => {
    let isCancelled = false;
    const stream = new ReadableStream<Uint8Array>({
      pull: (controller) => controller.enqueue(new TextEncoder().encode('no table here\n'.repeat(10_000))),
      cancel: () => {
        isCancelled = true;
      },
    });
    await expect(parseRunStream(stream)).rejects.toThrow('the first line has one cell only');
    expect(isCancelled).toBe(true);
  });

  it('names other sources and options', async () => {
    await expect(parseRunStream('text' as never)).rejects.toThrow(
      'parseRunStream: `source` must be a Blob, a ReadableStream of bytes or a Uint8Array (received "text")',
    );
    await expect(parseRunStream(bytes, { onprogress: () => 0 } as never)).rejects.toThrow(
      'did you mean onProgress?',
    );
    await expect(parseRunStream(new Uint8Array(0))).rejects.toThrow('the log is empty');
  });
});
