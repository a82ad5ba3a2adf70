/** A remedy, which messages of errors go on with after a semicolon, as a sentence of its own. */
export function asSentence(remedy: string): string {
  const begun = remedy.replace(/^[a-z]+(?=[ ,])/, (word) => word[0].toUpperCase() + word.slice(1));
  return /[.?!]$/.test(begun) ? begun : `${begun}.`;
}
