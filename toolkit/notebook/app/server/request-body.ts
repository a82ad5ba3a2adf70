import type { IncomingMessage } from 'node:http';
import { HttpError } from './http-error.js';

/** Largest body of a request: a log of a million samples with eight columns, in base64, fits. */
export const mostBodyBytes: number = 150 * 1024 * 1024;

/**
 * The JSON object in the body of a request; an empty body is an empty object.
 *
 * @throws HttpError 415 for bodies that a form of another site could send, 413 if too large, 400 if no JSON object
 */
export async function jsonBody(request: IncomingMessage): Promise<Readonly<Record<string, unknown>>> {
  const announced = Number(request.headers['content-length'] ?? 0);
  if (announced > mostBodyBytes) throw tooLarge();
  const chunks: Buffer[] = [];
  let byteCount = 0;
  for await (const chunk of request as AsyncIterable<Buffer>) {
    byteCount += chunk.length;
    if (byteCount > mostBodyBytes) throw tooLarge();
    chunks.push(chunk);
  }
  if (byteCount === 0) return {};
  if (!/^application\/json\b/i.test(request.headers['content-type'] ?? ''))
    throw new HttpError(415, 'The body must be application/json.');
  const value = parsed(Buffer.concat(chunks).toString('utf8'));
  if (typeof value !== 'object' || value === null || Array.isArray(value))
    throw new HttpError(400, 'The body must be a JSON object.');
  return value as Readonly<Record<string, unknown>>;
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    throw new HttpError(400, 'The body is not valid JSON.');
  }
}

function tooLarge(): HttpError {
  return new HttpError(413, `Too large: more than ${mostBodyBytes / 1024 / 1024} MB.`);
}
