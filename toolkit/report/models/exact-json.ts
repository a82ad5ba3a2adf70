import { ArgumentError } from '../../errors.js';
import { isRecord } from './shape.js';

/**
 * JSON that reads back as exactly the same value, laid out for people: an object's fields one per line, lists of
 * plain values on one line. Unlike `JSON.stringify` it keeps the sign of −0 and refuses what JSON cannot hold
 * (NaN, infinities, typed arrays, dates) by its path instead of dropping it.
 *
 * @param value - plain data: objects, arrays, texts, finite numbers, booleans, null
 * @param where - names the caller and the argument in messages; an empty argument begins paths at the fields
 */
export function exactJson(
  value: unknown,
  where: { readonly caller: string; readonly argument: string },
): string {
  return written(value, where.argument, '');

  function written(part: unknown, path: string, indent: string): string {
    if (Object.is(part, -0)) return '-0';
    if (typeof part === 'number' && Number.isFinite(part)) return JSON.stringify(part);
    if (part === null || typeof part === 'string' || typeof part === 'boolean') return JSON.stringify(part);
    const deeper = `${indent}  `;
    if (Array.isArray(part)) {
      const items = Array.from(part, (item, i) => written(item, `${path}[${i}]`, deeper));
      const flat = part.every((item) => typeof item !== 'object' || item === null);
      if (flat || items.length === 0) return `[${items.join(', ')}]`;
      return `[\n${deeper}${items.join(`,\n${deeper}`)}\n${indent}]`;
    }
    if (isRecord(part) && isPlain(part)) {
      const fields = Object.entries(part)
        .filter(([, field]) => field !== undefined)
        .map(
          ([name, field]) =>
            `${JSON.stringify(name)}: ${written(field, path === '' ? name : `${path}.${name}`, deeper)}`,
        );
      return fields.length === 0 ? '{}' : `{\n${deeper}${fields.join(`,\n${deeper}`)}\n${indent}}`;
    }
    throw new ArgumentError({
      ...where,
      argument: path,
      expected: 'plain data: an object, array, text, finite number, boolean or null',
      received: part,
    });
  }
}

function isPlain(value: object): boolean {
  const prototype: unknown = Object.getPrototypeOf(value);
  // Objects from another realm (a notebook cell) have an Object.prototype of their own.
  return prototype === null || Object.getPrototypeOf(prototype) === null;
}
