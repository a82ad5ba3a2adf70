/** Text as HTML shows it, in content and in quoted attributes. Control characters become visible blanks. */
export function escapeHtml(text: string): string {
  if (!TO_ESCAPE.test(text)) return text; // as most: a page that is drawn many times a second has hundreds
  return (
    text
      // biome-ignore lint/suspicious/noControlCharactersInRegex: controls have no place in a page
      .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/g, '\ufffd')
      // Marks that change the writing direction could make a label read as something else.
      .replace(/[\u202a-\u202e\u2066-\u2069]/g, '')
      .replaceAll('&', '&amp;')
      .replaceAll('<', '&lt;')
      .replaceAll('>', '&gt;')
      .replaceAll('"', '&quot;')
      .replaceAll("'", '&#39;')
  );
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: controls have no place in a page
const TO_ESCAPE = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f\u202a-\u202e\u2066-\u2069&<>"']/;

/** A number and its unit stay on one line: `85 °C`. */
export function unitsKept(html: string): string {
  return html.replaceAll(
    /(?<=\d) (?=(?:°[CF]|[mk]?W|K|mm|MHz|min|s|h|rpm|mV|dB|%)(?![\p{L}\d]))/gu,
    '\u00a0',
  );
}

/** Plain text with code between backticks, as findings hold it. */
export function textWithCode(text: string): string {
  return unitsKept(escapeHtml(text)).replaceAll(/`([^`]+)`/g, '<code>$1</code>');
}

/**
 * Data as JSON inside a script element: no character in it can end the element, start a comment, or break a line
 * in older script grammars.
 */
export function scriptJson(data: unknown): string {
  return JSON.stringify(data)
    .replaceAll('<', '\\u003c')
    .replaceAll('>', '\\u003e')
    .replaceAll('&', '\\u0026')
    .replaceAll('\u2028', '\\u2028')
    .replaceAll('\u2029', '\\u2029');
}

/** A library's source inside a script element, unable to end it. */
export function scriptSource(source: string): string {
  return source.replace(/<\/(script)/gi, '<\\/$1').replaceAll('<!--', '<\\!--');
}
