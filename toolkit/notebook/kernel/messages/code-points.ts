// The protocol counts the places of code in Unicode code points, JavaScript in UTF-16 units.

/** The UTF-16 offset of a place counted in code points. */
export function offsetOfCodePoint(text: string, count: number): number {
  let offset = 0;
  for (let i = 0; i < count && offset < text.length; i += 1)
    offset += (text.codePointAt(offset) ?? 0) > 0xffff ? 2 : 1;
  return offset;
}

/** A UTF-16 offset counted in code points. */
export function codePointOfOffset(text: string, offset: number): number {
  return [...text.slice(0, offset)].length;
}
