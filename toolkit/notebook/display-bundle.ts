import { inspect } from 'node:util';
import type { MimeBundle } from './kernel/outputs.js';

export function displayBundle(value: unknown): MimeBundle {
  return { 'text/plain': typeof value === 'string' ? value : inspect(value, { depth: 4 }) };
}
