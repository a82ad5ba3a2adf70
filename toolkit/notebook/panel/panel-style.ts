import { darkPalette, lightPalette, type Palette } from '../../figures/palette.js';

const variables = (palette: Palette): string =>
  Object.entries(palette)
    .map(([name, colour]) => `--kpw-${name}: ${colour};`)
    .join(' ');

/**
 * Style of a what-if panel. It takes text colour and font from the page it stands in and brings the colours of the
 * pictures, for light ground and for dark; paper is light. No colour carries a meaning without words. Lengths are in px: what a
 * rem is differs from page to page.
 */
export const panelStyle: string = `
.kpw-panel { ${variables(lightPalette)} }
.kpw-panel[data-kpw-ground=dark] { ${variables(darkPalette)} }
@media print { .kpw-panel[data-kpw-ground] { ${variables(lightPalette)} } }
.kpw-panel { color: inherit; font: 14px/1.45 system-ui, -apple-system, "Segoe UI", "Noto Sans", sans-serif; max-width: 1088px; margin: 10px 0; }
.kpw-panel * { box-sizing: border-box; }
.kpw-panel [hidden] { display: none !important; }
.kpw-panel .kpw-title { font-size: 1.1em; margin: 0 0 6px; }
.kpw-panel .kpw-columns { display: flex; flex-wrap: wrap; gap: 13px 35px; }
.kpw-panel .kpw-controls { flex: 1 1 240px; min-width: 0; }
.kpw-panel .kpw-answers { flex: 1.9 1 384px; min-width: 0; }
.kpw-panel .kpw-control { display: grid; grid-template-columns: 1fr 99px 42px; gap: 0 8px; align-items: baseline; margin: 0 0 7px; }
.kpw-panel .kpw-control .kpw-label { grid-column: 1; }
.kpw-panel .kpw-control input[type=number] { grid-column: 2; width: 100%; text-align: right; font: inherit; color: inherit; background: transparent; border: 1px solid currentColor; border-radius: 3px; padding: 2px 5px; }
.kpw-panel .kpw-control input[type=number]:invalid { border-width: 2px; border-style: dashed; }
.kpw-panel .kpw-control .kpw-unit { grid-column: 3; opacity: .8; }
.kpw-panel .kpw-control input[type=range] { grid-column: 1 / -1; width: 100%; margin: 2px 0 0; height: 21px; accent-color: var(--kpw-blue); }
.kpw-panel :is(input, button, textarea, summary):focus-visible { outline: 3px solid var(--kpw-blue); outline-offset: 2px; }
.kpw-panel .kpw-readings { display: grid; grid-template-columns: minmax(112px, 1fr) minmax(144px, 1.5fr); gap: 4px 19px; margin: 0; font-variant-numeric: tabular-nums; }
.kpw-panel .kpw-readings :is(dt, dd) { float: none; clear: none; width: auto; margin: 0; padding: 0; }
.kpw-panel .kpw-readings dt { opacity: .85; font-weight: 400; }
.kpw-panel .kpw-readings dd { font-weight: 600; }
.kpw-panel dd .kpw-mark { font-weight: 400; border: 1px solid currentColor; border-radius: 3px; padding: 0 5px; margin-left: 8px; font-size: .86em; display: inline-block; box-sizing: border-box; max-width: calc(100% - 8px); }
.kpw-panel .kpw-sentence { margin: 13px 0 8px; max-width: 736px; text-wrap: pretty; }
.kpw-panel .kpw-cautions { max-width: 736px; margin: 8px 0; }
.kpw-panel .kpw-cautions p { margin: 0 0 2px; font-weight: 600; }
.kpw-panel .kpw-cautions ul { list-style: disc; margin: 0; padding: 0 0 0 19px; }
.kpw-panel .kpw-cautions li { margin: 2px 0; text-wrap: pretty; }
.kpw-panel .kpw-picture svg { display: block; width: 100%; height: auto; max-width: 736px; margin-top: 10px; }
.kpw-panel .kpw-message { border-left: 4px solid currentColor; padding-left: 11px; }
.kpw-panel button { font: inherit; color: inherit; background: transparent; border: 1px solid currentColor; border-radius: 4px; padding: 4px 11px; margin: 3px 8px 3px 0; cursor: pointer; }
.kpw-panel textarea { display: block; width: 100%; min-height: 152px; font: 13px/1.45 ui-monospace, "Cascadia Mono", "Liberation Mono", monospace; color: inherit; background: transparent; border: 1px solid currentColor; border-radius: 4px; margin-top: 8px; }
.kpw-panel .kpw-note { opacity: .85; font-size: .92em; max-width: 736px; margin: 6px 0; }
@media print { .kpw-panel :is(input[type=range], button, textarea, .kpw-controls [role=status]) { display: none; } }
`;
