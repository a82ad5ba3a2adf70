import { type ITranslator, nullTranslator, type TranslationBundle } from '@jupyterlab/translation';

/** What the components of JupyterLab say in our place, said in our words. */
const ourWords: Readonly<Record<string, string>> = {
  'File Changed': 'The notebook was changed elsewhere',
  [`"%1" has changed on disk since the last time it was opened or saved.
Do you want to overwrite the file on disk with the version open here,
or load the version on disk (revert)?`]:
    '“%1” on disk is not what this page opened or saved last: another tab or program has changed it. Keep what you see here and lose the other state, or load the other state and lose your changes?',
  Revert: 'Load the other state',
  Overwrite: 'Keep what is here',
  'File Save Error for %1': '“%1” was not saved',
  'File Load Error for %1': '“%1” could not be opened',
  'Kernel Restarting': 'The kernel restarts',
};

/** Translator of the components, which also carries our own wording of what they ask. */
export const words: ITranslator = {
  get languageCode() {
    return nullTranslator.languageCode;
  },
  load(domain) {
    const bundle = nullTranslator.load(domain);
    const ours: TranslationBundle = Object.create(bundle);
    ours.__ = (text, ...values) => bundle.__(ourWords[text] ?? text, ...values);
    return ours;
  },
};
