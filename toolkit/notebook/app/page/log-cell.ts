/** Code that reads log files lying beside the notebook and shows what was read. */
export function logCellCode(names: readonly string[]): string {
  const [first = ''] = names;
  if (names.length === 1)
    return [`const ${runName(first)} = await kpw.readRun(${JSON.stringify(first)});`, runName(first)].join(
      '\n',
    );
  const list = names.map((name) => `  ${JSON.stringify(name)},`);
  return ['const runs = await kpw.readRuns([', ...list, ']);', 'runs'].join('\n');
}

/** A name for the run, made of the file's name, that a program can use. */
function runName(name: string): string {
  const words = name
    .replace(/(\.gz)?$/i, '')
    .replace(/\.[^.]*$/, '')
    .split(/[^A-Za-z0-9]+/)
    .filter((word) => word !== '')
    .map((word) => word[0].toUpperCase() + word.slice(1));
  return `run${words.join('')}`;
}
