/** Units that stay with their number, and the marks that hold an interval together. */
const unit = String.raw`(?:°C|K|W|K/W|W/K|K/min|%|s|min|h|MHz|GHz|MHz/W|rpm|mm)(?![\p{L}\d/])`;
const beforeUnit = new RegExp(String.raw`(?<=\d) (?=${unit})| (?=± )|(?<=±) `, 'gu');
const noBreakSpace = '\u00a0';

/**
 * Text in lines of at most `width` characters, where words allow. No line ends between a number and its unit; there
 * stands a no-break space.
 */
export function wrapped(
  text: string,
  options: { readonly indent: string; readonly firstIndent?: string; readonly width?: number },
): string {
  const { indent, firstIndent = indent, width = 100 } = options;
  const lines: string[] = [];
  let line = '';
  for (const word of text.replaceAll(beforeUnit, noBreakSpace).split(' ')) {
    const start = lines.length === 0 ? firstIndent : indent;
    if (line !== '' && start.length + line.length + 1 + word.length > width) {
      lines.push(start + line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, (lines.length === 0 ? firstIndent : indent) + line].join('\n');
}
