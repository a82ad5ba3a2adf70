import { InputDialog } from '@jupyterlab/apputils';
import { withKeptExtension } from './kept-extension.js';

/** Asks for a file name; undefined if the person changed their mind or the name stayed. */
export async function askForName(title: string, name: string, label: string): Promise<string | undefined> {
  const extension = /\.[^.]*$/.exec(name)?.[0] ?? '';
  const { value, button } = await InputDialog.getText({
    title,
    okLabel: label,
    text: name,
    selectionRange: name.length - extension.length,
  });
  const wanted = value?.trim() ?? '';
  if (!button.accept || wanted === '') return undefined;
  const full = withKeptExtension(wanted, name);
  return full === name ? undefined : full;
}
