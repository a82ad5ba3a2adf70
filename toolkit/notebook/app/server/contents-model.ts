/** A file or folder as the REST interface of the Jupyter server describes it. */
export interface ContentsModel {
  readonly name: string;
  readonly path: string;
  readonly type: 'notebook' | 'file' | 'directory';
  readonly created: string;
  readonly last_modified: string;
  readonly writable: boolean;
  readonly size: number | null;
  readonly mimetype: string | null;
  readonly format: 'json' | 'text' | 'base64' | null;
  readonly content: unknown;
  readonly hash?: string;
  readonly hash_algorithm?: 'sha256';
}

/** What a request wants to know of a file. */
export interface ContentsQuery {
  readonly content: boolean;
  readonly hash: boolean;
  /** `text` or `base64` to get a notebook or a text as a plain file. */
  readonly format: string | null;
}
