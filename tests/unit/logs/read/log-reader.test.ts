import { describe, expect, it } from 'vitest';
import { LogReader } from '../../../../toolkit/logs/read/log-reader.js';

const text = `time_s,"temp, °C",power_w,note\r\n${Array.from(
  { length: 3000 },
  (_, i) => `${i},${30 + (i % 7)}.5,65,"row ""${i}""${i % 5 === 0 ? '\r\n' : ''}"`,
).join('\r\n')}\r\n`;

const read = (bytes: Uint8Array, chunkLength: number) => {
  const reader = new LogReader({});
  const buffer = new Uint8Array(chunkLength);
  for (let at = 0; at < bytes.length; at += chunkLength) {
    const part = bytes.subarray(at, at + chunkLength);
    buffer.set(part);
    reader.push(buffer.subarray(0, part.length));
  }
  return reader.finish();
};

describe('LogReader', () => {
  it('gives the same samples and lines however the bytes are cut, in one reused buffer', () => {
    const bytes = new TextEncoder().encode(text);
    expect(bytes.length).toBeGreaterThan(1 << 16);
    const whole = read(bytes, bytes.length);
    expect(whole.rowCount).toBe(3000);
    // The header, 3000 rows, and a line end inside every fifth note before the last row.
    expect(whole.lineNumbers[2999]).toBe(1 + 3000 + 600);
    for (const chunkLength of [11, 4096, 65_536, 65_537, 100_000])
      expect(read(bytes, chunkLength)).toEqual(whole);
  });

  it('cuts UTF-16 anywhere too', () => {
    const bytes = new Uint8Array(Uint16Array.from(text, (sign) => sign.charCodeAt(0)).buffer);
    expect(read(bytes, 4097)).toEqual(read(new TextEncoder().encode(text), 4097));
  });

  it('makes room when there are more rows than it was told', () => {
    const bytes = new TextEncoder().encode(text);
    const reader = new LogReader({ expectedBytes: 100 });
    for (let at = 0; at < bytes.length; at += 50_000) reader.push(bytes.slice(at, at + 50_000));
    expect(reader.finish().columns.time).toHaveLength(3000);
  });

  it('refuses a record longer than 1 MiB instead of keeping it', () => {
    const reader = new LogReader({});
    reader.push(new TextEncoder().encode(text));
    expect(() => {
      for (let i = 0; i < 40; i++) reader.push(new Uint8Array(1 << 16).fill(i === 0 ? 34 : 120));
    }).toThrow('a quoted cell that begins here is never closed, or the line is longer than 1 MiB');
  });

  it('refuses a text whose first line has no end in sight', () => {
    const reader = new LogReader({});
    expect(() => reader.push(new Uint8Array(1 << 16).fill(120))).toThrow(
      'line 1: no line ends within the first 64 KiB',
    );
  });
});
