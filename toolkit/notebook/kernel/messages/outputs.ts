/** One value in several media types, richest first; a viewer takes the richest one it knows. */
export type MimeBundle = Readonly<Record<string, string | object>>;

/** Text written to standard output or standard error, as nbformat 4 stores it. */
export interface StreamOutput {
  readonly output_type: 'stream';
  readonly name: 'stdout' | 'stderr';
  readonly text: string;
}

/** Something shown by `show()`, as nbformat 4 stores it. */
export interface DisplayDataOutput {
  readonly output_type: 'display_data';
  readonly data: MimeBundle;
  readonly metadata: Readonly<Record<string, unknown>>;
}

/** The value of a cell's last expression, as nbformat 4 stores it. */
export interface ExecuteResultOutput {
  readonly output_type: 'execute_result';
  readonly data: MimeBundle;
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly execution_count: number;
}

/** A cell's failure, as nbformat 4 stores it; `traceback` names cells and their own lines. */
export interface ErrorOutput {
  readonly output_type: 'error';
  readonly ename: string;
  readonly evalue: string;
  readonly traceback: readonly string[];
}

/** What a cell can put out and a notebook stores. */
export type CellOutput = StreamOutput | DisplayDataOutput | ExecuteResultOutput | ErrorOutput;

/** Something shown under an id, so that it can be replaced later. */
export interface NamedDisplay extends DisplayDataOutput {
  readonly display_id: string;
}

/** What was shown under an id, in whatever cell, shows this from now on. */
export interface DisplayUpdate {
  readonly output_type: 'update_display_data';
  readonly data: MimeBundle;
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly display_id: string;
}

/** The cell's outputs so far go; with `wait`, only when the next one comes. */
export interface ClearOutput {
  readonly output_type: 'clear_output';
  readonly wait: boolean;
}

/** What a running cell can tell its viewers. */
export type KernelOutput = CellOutput | NamedDisplay | DisplayUpdate | ClearOutput;
