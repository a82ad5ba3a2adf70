import { describe, expect, it } from 'vitest';
import {
  byteOrderMarkLength,
  decodeBytes,
  eachUtf8Chunk,
  findEncoding,
  utf16ToUtf8,
} from '../../../../toolkit/logs/cells/decode.js';

const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text);
const utf16 = (text: string, bigEndian: boolean): Uint8Array => {
  const view = new DataView(new ArrayBuffer(2 * text.length));
  for (let i = 0; i < text.length; i++) view.setUint16(2 * i, text.charCodeAt(i), !bigEndian);
  return new Uint8Array(view.buffer);
};
const LOG = 'time_s,temp °C,power_w\n0,30,65\n';

describe('findEncoding', () => {
  it('reads UTF-8 and Latin-1 by their ASCII bytes', () => {
    expect(findEncoding(utf8(LOG))).toBe('ascii-like');
    expect(findEncoding(Uint8Array.from(LOG, (sign) => sign.charCodeAt(0)))).toBe('ascii-like');
    expect(findEncoding(new Uint8Array(0))).toBe('ascii-like');
  });

  it('finds UTF-16 by its byte order mark and by its zero bytes', () => {
    expect(findEncoding(utf16(`\uFEFF${LOG}`, false))).toBe('utf-16le');
    expect(findEncoding(utf16(`\uFEFF${LOG}`, true))).toBe('utf-16be');
    expect(findEncoding(utf16(LOG, false))).toBe('utf-16le');
    expect(findEncoding(utf16(LOG, true))).toBe('utf-16be');
  });

  it('names archives and refuses bytes that are no text', () => {
    expect(() => findEncoding(Uint8Array.of(0x1f, 0x8b, 8, 0))).toThrow(
      'the bytes are packed with gzip; read them with parseRunStream, or the file with readRun: both unpack gzip',
    );
    expect(() => findEncoding(Uint8Array.of(0x50, 0x4b, 3, 4))).toThrow('a zip archive');
    expect(() => findEncoding(Uint8Array.from({ length: 400 }, (_, i) => (i * 73) % 256))).toThrow(
      'the file holds bytes that are no text; give the log as plain delimited text: unpack it, or export it as CSV',
    );
  });
});

describe('decodeBytes', () => {
  it('reads a Latin-1 degree sign where the bytes are no UTF-8', () => {
    expect(decodeBytes(Uint8Array.of(0xb0, 0x43))).toBe('°C');
    expect(decodeBytes(utf8('°C'))).toBe('°C');
  });
});

describe('utf16ToUtf8', () => {
  it('keeps characters that a chunk cuts in two', () => {
    const bytes = utf16(LOG, false);
    const transcode = utf16ToUtf8('utf-16le');
    const parts = [transcode(bytes.subarray(0, 25), false), transcode(bytes.subarray(25), true)];
    expect(parts.map((part) => new TextDecoder().decode(part)).join('')).toBe(LOG);
  });
});

describe('eachUtf8Chunk', () => {
  it('hands out the whole text and never cuts a surrogate pair', () => {
    // The pair straddles the 262,144 characters of the first piece.
    const text = `${'x'.repeat((1 << 18) - 1)}\u{1F321}${'y'.repeat(10)}`;
    let bytes: number[] = [];
    eachUtf8Chunk(text, (chunk) => {
      bytes = bytes.concat(Array.from(chunk.subarray(Math.max(0, chunk.length - 20))));
    });
    const end = new TextDecoder('utf-8', { fatal: true }).decode(Uint8Array.from(bytes));
    expect(end.endsWith(`\u{1F321}${'y'.repeat(10)}`)).toBe(true);
  });
});

describe('byteOrderMarkLength', () => {
  it('is three bytes or none', () => {
    expect(byteOrderMarkLength(utf8('\uFEFFtime'))).toBe(3);
    expect(byteOrderMarkLength(utf8('time'))).toBe(0);
  });
});
