import type { CellOutput, ClearOutput, DisplayUpdate, KernelOutput } from './outputs.js';

/** Where each display id stands: a list of outputs and a place in it. */
type DisplayPlaces = Map<string, { readonly outputs: CellOutput[]; readonly index: number }[]>;

/** Collects what cells put out as a notebook stores it: text joined, updates applied, cleared outputs gone. */
export class CollectedOutputs {
  readonly #places: DisplayPlaces = new Map();
  #outputs: CellOutput[] = [];
  #clearAtNext = false;

  /** Begins a cell; its list grows with every `add` until the next call. */
  startCell(): readonly CellOutput[] {
    this.#outputs = [];
    this.#clearAtNext = false;
    return this.#outputs;
  }

  add(output: KernelOutput): void {
    if (output.output_type === 'clear_output') this.#clear(output);
    else if (output.output_type === 'update_display_data') this.#update(output);
    else {
      if (this.#clearAtNext) this.#empty();
      if ('display_id' in output) {
        const { display_id, ...stored } = output;
        const places = this.#places.get(display_id) ?? [];
        this.#places.set(display_id, [...places, { outputs: this.#outputs, index: this.#outputs.length }]);
        this.#outputs.push(stored);
      } else appendOutput(this.#outputs, output);
    }
  }

  #clear({ wait }: ClearOutput): void {
    if (wait) this.#clearAtNext = true;
    else this.#empty();
  }

  #empty(): void {
    this.#clearAtNext = false;
    this.#outputs.length = 0;
    for (const [id, places] of this.#places)
      this.#places.set(
        id,
        places.filter(({ outputs }) => outputs !== this.#outputs),
      );
  }

  #update({ display_id, data, metadata }: DisplayUpdate): void {
    for (const { outputs, index } of this.#places.get(display_id) ?? [])
      outputs[index] = { output_type: 'display_data', data, metadata };
  }
}

/** Appends an output to a cell's list; text joins the text before it, so that 30,000 lines stay one output. */
export function appendOutput(outputs: CellOutput[], output: CellOutput): void {
  const last = outputs.at(-1);
  if (output.output_type === 'stream' && last?.output_type === 'stream' && last.name === output.name)
    outputs[outputs.length - 1] = { ...last, text: last.text + output.text };
  else outputs.push(output);
}
