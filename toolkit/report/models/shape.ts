/** Where a value failed and what it should have been. */
export interface Mismatch {
  /** Path from the root: `stages[1].timeConstantS.value`. */
  readonly path: string;
  /** Completes "must be …". */
  readonly expected: string;
  readonly received: unknown;
}

/** A check of one value: what is wrong with it, or nothing. */
export type Shape = (value: unknown, path: string) => Mismatch | undefined;

/** A finite number. */
export const number: Shape = (value, path) =>
  typeof value === 'number' && Number.isFinite(value)
    ? undefined
    : { path, expected: 'a finite number', received: value };

/** A finite number that fulfils a condition said in words. */
export function numberThat(expected: string, holds: (value: number) => boolean): Shape {
  return (value, path) =>
    number(value, path) ?? (holds(value as number) ? undefined : { path, expected, received: value });
}

/** Text. */
export const text: Shape = (value, path) =>
  typeof value === 'string' ? undefined : { path, expected: 'a text', received: value };

/** True or false. */
export const boolean: Shape = (value, path) =>
  typeof value === 'boolean' ? undefined : { path, expected: 'true or false', received: value };

/** One of a few texts. */
export function oneOf(...allowed: readonly string[]): Shape {
  const expected = allowed
    .map((item) => `'${item}'`)
    .join(', ')
    .replace(/, ([^,]*)$/, ' or $1');
  return (value, path) =>
    typeof value === 'string' && allowed.includes(value) ? undefined : { path, expected, received: value };
}

/** An array whose items all fit. */
export function arrayOf(item: Shape): Shape {
  return (value, path) => {
    if (!Array.isArray(value)) return { path, expected: 'an array', received: value };
    for (let i = 0; i < value.length; i++) {
      const mismatch = item(value[i], `${path}[${i}]`);
      if (mismatch !== undefined) return mismatch;
    }
    return undefined;
  };
}

/** An array of fixed length, one check per place. */
export function tuple(...items: readonly Shape[]): Shape {
  return (value, path) => {
    if (!Array.isArray(value) || value.length !== items.length)
      return { path, expected: `an array of ${items.length}`, received: value };
    for (let i = 0; i < items.length; i++) {
      const mismatch = items[i](value[i], `${path}[${i}]`);
      if (mismatch !== undefined) return mismatch;
    }
    return undefined;
  };
}

type OptionalKey<T> = { [Key in keyof T]-?: object extends Pick<T, Key> ? Key : never }[keyof T];

/**
 * An object with the fields of `T`; further fields are left alone, so that nothing is lost. A field added to the
 * type and forgotten here does not compile.
 */
export function object<T extends object>(
  required: { readonly [Key in Exclude<keyof T, OptionalKey<T>>]: Shape },
  optional: { readonly [Key in OptionalKey<T>]: Shape },
): Shape {
  return (value, path) => {
    if (!isRecord(value)) return { path, expected: 'an object', received: value };
    for (const [name, shape] of Object.entries<Shape>(required)) {
      const mismatch = shape(ownField(value, name), `${path}.${name}`);
      if (mismatch !== undefined) return mismatch;
    }
    for (const [name, shape] of Object.entries<Shape>(optional)) {
      const field = ownField(value, name);
      const mismatch = field === undefined ? undefined : shape(field, `${path}.${name}`);
      if (mismatch !== undefined) return mismatch;
    }
    return undefined;
  };
}

/** An object with any names, all of whose values fit. */
export function recordOf(item: Shape): Shape {
  return (value, path) => {
    if (!isRecord(value)) return { path, expected: 'an object', received: value };
    for (const [name, field] of Object.entries(value)) {
      const mismatch = item(field, `${path}.${name}`);
      if (mismatch !== undefined) return mismatch;
    }
    return undefined;
  };
}

/** One of several shapes, told apart by a field. */
export function byField(field: string, shapes: Readonly<Record<string, Shape>>): Shape {
  const names = oneOf(...Object.keys(shapes));
  return (value, path) => {
    if (!isRecord(value)) return { path, expected: 'an object', received: value };
    const name = ownField(value, field);
    return names(name, `${path}.${field}`) ?? shapes[name as string](value, path);
  };
}

/** Several checks one after the other. */
export function allOf(...shapes: readonly Shape[]): Shape {
  return (value, path) => {
    for (const shape of shapes) {
      const mismatch = shape(value, path);
      if (mismatch !== undefined) return mismatch;
    }
    return undefined;
  };
}

/** A plain object. */
export function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function ownField(value: Readonly<Record<string, unknown>>, name: string): unknown {
  return Object.hasOwn(value, name) ? value[name] : undefined;
}
