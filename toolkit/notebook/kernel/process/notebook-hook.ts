import { displayHookKey, type NotebookHook } from '../../display/display-hook.js';
import type { Comms } from '../messages/comms.js';
import type { OutputQueue } from '../messages/output-queue.js';

/** Gives the toolkit in this process the way to the notebook page. */
export function installNotebookHook(outputs: OutputQueue, comms: Comms): void {
  const hook: NotebookHook = {
    display(data, { displayId, update = false } = {}) {
      if (displayId === undefined) outputs.push({ output_type: 'display_data', data, metadata: {} });
      else
        outputs.push({
          output_type: update ? 'update_display_data' : 'display_data',
          data,
          metadata: {},
          display_id: displayId,
        });
    },
    clear: ({ wait }) => outputs.push({ output_type: 'clear_output', wait }),
    comms,
  };
  Object.assign(globalThis, { [displayHookKey]: hook });
}
