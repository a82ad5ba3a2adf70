import type { CodeEditor, IEditorServices } from '@jupyterlab/codeeditor';
import {
  CodeMirrorEditorFactory,
  CodeMirrorMimeTypeService,
  EditorExtensionRegistry,
  EditorLanguageRegistry,
  EditorThemeRegistry,
  ybinding,
} from '@jupyterlab/codemirror';

type BindingOptions = Parameters<typeof ybinding>[0];

/** The text of a cell with its history. */
interface SharedYText {
  readonly ysource: BindingOptions['ytext'];
  readonly undoManager: NonNullable<BindingOptions['undoManager']> | null;
}

/** Code editors of cells and what they know of languages. */
export interface Editors extends IEditorServices {
  readonly languages: EditorLanguageRegistry;
}

/** Makes the editors that all cells share. */
export function createEditors(): Editors {
  const languages = new EditorLanguageRegistry();
  for (const language of EditorLanguageRegistry.getDefaultLanguages()) languages.addLanguage(language);
  const themes = new EditorThemeRegistry();
  for (const theme of EditorThemeRegistry.getDefaultThemes()) themes.addTheme(theme);
  const extensions = new EditorExtensionRegistry();
  for (const factory of EditorExtensionRegistry.getDefaultExtensions({ themes }))
    extensions.addExtension(factory);
  extensions.addExtension({
    name: 'shared-model',
    factory: ({ model }: { readonly model: CodeEditor.IModel }) => {
      // Every shared text is one of Yjs; the interface does not say so.
      const { ysource: ytext, undoManager } = model.sharedModel as unknown as SharedYText;
      return EditorExtensionRegistry.createImmutableExtension(
        ybinding(undoManager === null ? { ytext } : { ytext, undoManager }),
      );
    },
  });
  return {
    languages,
    factoryService: new CodeMirrorEditorFactory({ extensions, languages }),
    mimeTypeService: new CodeMirrorMimeTypeService(languages),
  };
}
