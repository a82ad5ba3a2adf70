import { capPanelModel } from './cap-panel.js';
import type { CapPanelData } from './cap-panel-controls.js';
import { type LadderPanelData, ladderPanelModel } from './ladder-panel.js';
import type { PanelModel } from './panel-model.js';

/** What a panel is made from: plain data, so that the page can make it again without a kernel. */
export type PanelData = CapPanelData | LadderPanelData;

/** The model of any panel. */
export function panelModelOf(data: PanelData): PanelModel {
  switch (data.panel) {
    case 'cap':
      return capPanelModel(data);
    case 'ladder':
      return ladderPanelModel(data);
    default:
      throw new Error('this panel was made by another version of the toolkit: run its cell again');
  }
}
