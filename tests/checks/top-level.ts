import type { SourceFile } from './repository.js';

/** The top of the repository: nothing else may stand there. */
export const TOP_LEVEL: readonly string[] = [
  '.ci',
  '.config',
  '.gitignore',
  'CHANGELOG.md',
  'DEVELOPERS.md',
  'LICENSE',
  'README.md',
  'datasets-demo',
  'notebooks',
  'package-lock.json',
  'package.json',
  'tests',
  'toolkit',
  'tsconfig.json',
];

/** Marks that git leaves in an unfinished merge. */
const MERGE_MARK = /^(<{7}|>{7}|\|{7}) |^={7}$/;

/** Notes about unfinished work, in comments and texts. */
const UNFINISHED = new RegExp(`\\b(${['TO' + 'DO', 'FIX' + 'ME', 'XX' + 'X', 'HA' + 'CK'].join('|')})\\b`);

/** Lines that must not be in a finished repository. */
export function unfinishedLines({ path, text }: SourceFile): readonly string[] {
  return text.split('\n').flatMap((line, index) => {
    if (MERGE_MARK.test(line.trimEnd())) return [`${path}:${index + 1} holds a merge mark`];
    const note = UNFINISHED.exec(line);
    return note === null ? [] : [`${path}:${index + 1} says ${note[1]}`];
  });
}

/** Keys such as [Bergman2011] or [JCGM101, sec. 7]: a capital, letters, digits at the end, perhaps a part. */
const CITATION = /\[([A-Z][A-Za-z]*-?\d+(?:-\d+)*)(?:, [^\]\n]+)?\](?!\()/g;

/** Citation keys in a text, with their lines. */
export function citationsIn(text: string): readonly { readonly key: string; readonly line: number }[] {
  return text
    .split('\n')
    .flatMap((line, index) =>
      [...line.matchAll(CITATION)].map((match) => ({ key: match[1], line: index + 1 })),
    );
}

/** The comments of a program, everything else blanked, so that lines stay and indexing is not taken for citing. */
export function commentsOf(text: string): string {
  const blank = (part: string): string => part.replace(/[^\n]/g, ' ');
  return text.replace(
    /(\/\*[\s\S]*?\*\/|(?<=^|[\s;,{}()])\/\/[^\n]*)|('(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"|[^'"/]+|[\s\S])/g,
    (_, comment: string | undefined, other: string | undefined) => comment ?? blank(other ?? ''),
  );
}
