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

/** What a cell can put out. */
export type CellOutput = StreamOutput | DisplayDataOutput | ExecuteResultOutput | ErrorOutput;

/** Appends an output to a cell's list; text joins the text before it, so that 30,000 lines stay one output. */
export function appendOutput(outputs: CellOutput[], output: CellOutput): void {
  const last = outputs.at(-1);
  if (output.output_type === 'stream' && last?.output_type === 'stream' && last.name === output.name)
    outputs[outputs.length - 1] = { ...last, text: last.text + output.text };
  else outputs.push(output);
}
