/** Code's names for what the command calls by an option. */
const optionOf: Readonly<Record<string, string>> = {
  'enclosure: { riseK }': '--enclosure-rise',
  'scenario.limitC': '--limit',
  'scenario.ambientC': '--ambient',
  'scenario.enclosure.riseK': '--enclosure-rise',
  'scenario.confidence': '--confidence',
  'scenario.stepW': '--step',
  stepW: '--step',
  'scenario.defaultCapW': '--default-cap',
  defaultCapW: '--default-cap',
  'scenario.maxCapW': '--max-cap',
  maxCapW: '--max-cap',
};

/** An object of code: braces around names with quoted texts, numbers, false or an ellipsis. */
const choice = /(write |or )?(?:the option )?(columns|units): \{ ((?:'(?:\\.|[^'\\])*'|[^'}])*) \}/g;
const entry = /([\w.]+): (?:'((?:\\.|[^'\\])*)'|(\d+|false|…))/g;

/** A time in two columns, in code. */
const dateAndClock = /time: \{ date: ('(?:\\.|[^'\\])*'|\d+), clock: ('(?:\\.|[^'\\])*'|\d+) \}/g;

/** A message meant for people who write code, in the words of the command: its options, and paths as typed. */
export function inTerminalWords(text: string, typedIn: string): string {
  return text
    .replaceAll(
      /`([\w.]+?|enclosure: \{ riseK \})(?:\.(low|high|mean|standardDeviation))?`/g,
      (all, name) => {
        const option = optionOf[name as string];
        return option === undefined ? all : `\`${option}\``;
      },
    )
    .replaceAll(/`options\.(column|unit)s\.(\w+)`/g, '`--$1 $2`')
    .replaceAll(/\breadRuns: (?=`--)/g, 'npm run decide: ')
    .replaceAll(/\bchooseCap: (?=`--)/g, 'npm run decide: ')
    .replaceAll(/\bno cap\. chooseCap: /g, 'no cap: ')
    .replaceAll(
      /(?:write the option|or) \{ dateOrder: '([\w-]+)' \}/g,
      (all, order: string) => `${all.startsWith('or') ? 'or' : 'add'} --date-order ${order}`,
    )
    .replaceAll(/write the option dateOrder: '([\w-]+)'/g, 'add --date-order $1')
    .replaceAll('options.columns.frequency when reading the log', '--column frequency=HEADER')
    .replaceAll(dateAndClock, 'time.date: $1, time.clock: $2')
    .replaceAll(choice, (_, before: string | undefined, kind: string, entries: string) => {
      const options = [...entries.matchAll(entry)].map(([, role, quoted, bare]) => {
        const value = (quoted?.replaceAll(/\\(.)/g, '$1') ?? bare).replace(
          /^…$/,
          kind === 'columns' ? 'HEADER' : 'UNIT',
        );
        return `--${kind === 'columns' ? 'column' : 'unit'} ${shellWord(`${role}=${value}`)}`;
      });
      return `${before === undefined ? '' : before === 'or ' ? 'or add ' : 'add '}${options.join(' ')}`;
    })
    .replaceAll(/, or (\w+): false to leave it out/g, ', or --column $1=false to leave it out')
    .replaceAll(`${typedIn.replace(/[/\\]$/, '')}/`, '');
}

/** As a shell takes it for one word. */
function shellWord(text: string): string {
  return /^[\w=.,:%°/-]+$/.test(text) ? text : `'${text.replaceAll("'", "'\\''")}'`;
}
