/** Makes cells that read standard input fail at once, with the remedy, instead of waiting for ever. */
export function refuseStandardInput(): void {
  Object.defineProperty(process, 'stdin', {
    configurable: true,
    get: () => {
      throw new Error(
        'a notebook cell has no standard input: put the value into the cell, or read it from a file',
      );
    },
  });
}
