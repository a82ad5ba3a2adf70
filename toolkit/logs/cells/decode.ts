import { LogFormatError } from '../log-format-error.js';

/**
 * How the bytes of a text are to be read. `ascii-like` covers UTF-8 and the one-byte Latin encodings: in both, the
 * bytes of digits, delimiters and line ends are those of ASCII, so that numbers are read without decoding anything,
 * and only headers and messages are decoded, by `decodeBytes`.
 */
export type Encoding = 'ascii-like' | 'utf-16le' | 'utf-16be';

/** How many bytes at the start of a file are looked at. */
const INSPECTED_BYTES = 4096;

/** So many zero bytes may be scattered over a short text: a log that was cut off, and cut off again. */
const FEW_ZEROS = 16;

/** A run of zero bytes this long is a block that was never written, not a sign of another encoding. */
const UNWRITTEN_BYTES = 16;

const COMPRESSED: readonly (readonly [name: string, magic: readonly number[]])[] = [
  ['a zip archive or a spreadsheet in one', [0x50, 0x4b, 0x03, 0x04]],
  ['a PDF file', [0x25, 0x50, 0x44, 0x46]],
];

/**
 * Finds the encoding from a byte order mark or, without one, from where the zero bytes lie.
 *
 * @throws LogFormatError if the bytes are no text
 */
export function findEncoding(head: Uint8Array): Encoding {
  if (head[0] === 0xff && head[1] === 0xfe && !(head[2] === 0 && head[3] === 0)) return 'utf-16le';
  if (head[0] === 0xfe && head[1] === 0xff) return 'utf-16be';
  if (isGzip(head)) {
    throw new LogFormatError([
      {
        code: 'binary-file',
        message: 'the bytes are packed with gzip',
        remedy: 'read them with parseRunStream, or the file with readRun: both unpack gzip',
      },
    ]);
  }
  for (const [name, magic] of COMPRESSED) {
    if (magic.every((byte, i) => head[i] === byte)) throw binaryFile(`the file is ${name}, not text`);
  }

  const length = Math.min(head.length, INSPECTED_BYTES);
  let zerosAtEven = 0;
  let zerosAtOdd = 0;
  let controls = 0;
  let unwrittenTo = 0;
  for (let i = 0; i < length; i++) {
    const byte = head[i];
    if (byte === 0) {
      if (i >= unwrittenTo) {
        let end = i;
        while (end < length && head[end] === 0) end++;
        unwrittenTo = end - i >= UNWRITTEN_BYTES ? end : unwrittenTo;
      }
      if (i < unwrittenTo) continue;
      if (i % 2 === 0) zerosAtEven++;
      else zerosAtOdd++;
    } else if (byte < 9 || (byte > 13 && byte < 32 && byte !== 26 && byte !== 27)) controls++;
  }
  // Nearly every character of a log is ASCII, so in UTF-16 nearly every second byte is zero.
  if (zerosAtOdd > 0.4 * length && zerosAtEven === 0) return 'utf-16le';
  if (zerosAtEven > 0.4 * length && zerosAtOdd === 0) return 'utf-16be';
  if (zerosAtEven + zerosAtOdd > Math.max(0.01 * length, FEW_ZEROS) || controls > 0.02 * length) {
    throw binaryFile('the file holds bytes that are no text');
  }
  return 'ascii-like';
}

/** Whether the bytes begin as a gzip file does [RFC1952, sec. 2.3.1]. */
export function isGzip(head: Uint8Array): boolean {
  return head[0] === 0x1f && head[1] === 0x8b;
}

function binaryFile(message: string): LogFormatError {
  return new LogFormatError([
    {
      code: 'binary-file',
      message,
      remedy: 'give the log as plain delimited text: unpack it, or export it as CSV',
    },
  ]);
}

const strictUtf8 = new TextDecoder('utf-8', { fatal: true });
// The superset of Latin-1 that the encoding standard of the web puts under the name `latin1`.
const latin1 = new TextDecoder('windows-1252');

/** Text of some bytes: UTF-8 where they are valid UTF-8, Latin-1 where not. */
export function decodeBytes(bytes: Uint8Array): string {
  try {
    return strictUtf8.decode(bytes);
  } catch {
    return latin1.decode(bytes);
  }
}

/** Text of a whole file: UTF-16 where its byte order mark says so, else as `decodeBytes`. */
export function decodeFile(bytes: Uint8Array): string {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return new TextDecoder('utf-16be').decode(bytes);
  return decodeBytes(bytes);
}

/** Turns UTF-16 chunks into UTF-8 chunks, so that what follows sees one kind of bytes. */
export function utf16ToUtf8(
  encoding: 'utf-16le' | 'utf-16be',
): (chunk: Uint8Array, isLast: boolean) => Uint8Array {
  const decoder = new TextDecoder(encoding);
  const encoder = new TextEncoder();
  return (chunk, isLast) => encoder.encode(decoder.decode(chunk, { stream: !isLast }));
}

/** Length of the UTF-8 byte order mark at the start, 0 or 3. */
export function byteOrderMarkLength(bytes: Uint8Array): number {
  return bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
}

/** Cuts a string into pieces of UTF-8 in one reused buffer, each handed to `take` before the next is made. */
export function eachUtf8Chunk(text: string, take: (chunk: Uint8Array) => void): void {
  const pieceLength = 1 << 18;
  const buffer = new Uint8Array(3 * Math.min(pieceLength, text.length));
  const encoder = new TextEncoder();
  for (let start = 0; start < text.length; ) {
    let end = Math.min(start + pieceLength, text.length);
    const last = text.charCodeAt(end - 1);
    // Never cut a surrogate pair in two.
    if (end < text.length && last >= 0xd800 && last < 0xdc00) end--;
    const { written } = encoder.encodeInto(text.slice(start, end), buffer);
    take(buffer.subarray(0, written));
    start = end;
  }
}
