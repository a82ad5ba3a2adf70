import ts from 'typescript';

/** One `@example` of a doc comment. */
export interface DocExample {
  readonly code: string;
  /** Line in the file of the first line of the code, 1-based. */
  readonly line: number;
}

/** What a doc comment holds, read from its text, so that the code of examples stays as written. */
export interface DocComment {
  /** Everything before the first tag. */
  readonly description: string;
  readonly examples: readonly DocExample[];
}

/** The doc comment of a declaration; undefined where there is none. */
export function docCommentOf(declaration: ts.Declaration): DocComment | undefined {
  const documented = ts.getJSDocCommentsAndTags(declaration).filter(ts.isJSDoc).at(-1);
  if (documented === undefined) return undefined;
  const source = declaration.getSourceFile();
  const start = documented.getStart(source);
  const firstLine = source.getLineAndCharacterOfPosition(start).line + 1;
  return parseDocComment(source.text.slice(start, documented.end), firstLine);
}

/** Reads a doc comment from its text, which begins in `firstLine`. */
export function parseDocComment(text: string, firstLine: number): DocComment {
  const lines = text
    .replace(/^\/\*\*/, '')
    .replace(/\*\/$/, '')
    .split('\n')
    .map((line) => line.replace(/^\s*\* ?/, ''));
  const description: string[] = [];
  const examples: DocExample[] = [];
  let tag = '';
  let code: string[] = [];
  let codeLine = 0;
  const close = (): void => {
    if (tag === 'example') examples.push({ code: code.join('\n').trimEnd(), line: codeLine });
  };
  lines.forEach((line, index) => {
    const tagged = /^\s*@(\w+)\s*(.*)$/.exec(line);
    if (tagged !== null) {
      close();
      tag = tagged[1];
      // Code may begin behind the tag or, as usual, on the line after it.
      code = [tagged[2]];
      codeLine = firstLine + index;
    } else if (tag === '') description.push(line);
    else code.push(line);
  });
  close();
  return { description: description.join('\n').trim(), examples };
}
