import type { IRenderMime } from '@jupyterlab/rendermime-interfaces';
import type { Message } from '@lumino/messaging';
import { Widget } from '@lumino/widgets';
import { darkTwins } from '../../../figures/palette.js';
import type { Theme } from './theme.js';

const plotlyMimeType = 'application/vnd.plotly.v1+json';

/** The few parts of Plotly that are used here. */
interface Plotly {
  react(node: HTMLElement, data: unknown, layout: object, config: object): Promise<unknown>;
  addFrames(node: HTMLElement, frames: unknown): Promise<unknown>;
  purge(node: HTMLElement): void;
  readonly Plots: { resize(node: HTMLElement): Promise<unknown> };
  downloadImage(node: HTMLElement, options: object): Promise<unknown>;
  readonly Icons: Readonly<Record<'camera' | 'disk', unknown>>;
}

interface PlotlyFigure {
  readonly data?: unknown;
  readonly layout?: Readonly<Record<string, unknown>>;
  readonly config?: object;
  readonly frames?: unknown;
}

let loading: Promise<Plotly> | undefined;

/** Loaded when the first figure is drawn: it is larger than the rest of the page. */
function loadPlotly(): Promise<Plotly> {
  loading ??= import('plotly.js-dist-min').then(
    (module) => (module as unknown as { readonly default: Plotly }).default,
  );
  return loading;
}

/** A figure drawn by Plotly, in the colours of the page's theme, as wide as its cell. */
class PlotlyRenderer extends Widget implements IRenderMime.IRenderer {
  readonly #theme: Theme;
  #figure: PlotlyFigure | undefined;
  #busy: Promise<unknown> = Promise.resolve();

  constructor(theme: Theme) {
    super();
    this.#theme = theme;
    this.addClass('kpw-Figure');
    theme.changed.connect(this.#redraw, this);
  }

  async renderModel(model: IRenderMime.IMimeModel): Promise<void> {
    this.#figure = model.data[plotlyMimeType] as unknown as PlotlyFigure;
    await this.#draw();
  }

  override dispose(): void {
    if (this.isDisposed) return;
    this.#theme.changed.disconnect(this.#redraw, this);
    const { node } = this;
    if (this.#figure !== undefined) void loadPlotly().then((plotly) => plotly.purge(node));
    super.dispose();
  }

  protected override onAfterShow(message: Message): void {
    super.onAfterShow(message);
    this.#fit();
  }

  protected override onResize(message: Widget.ResizeMessage): void {
    super.onResize(message);
    this.#fit();
  }

  #redraw(): void {
    void this.#draw();
  }

  async #draw(): Promise<void> {
    const plotly = await loadPlotly();
    const figure = this.#figure;
    if (figure === undefined || this.isDisposed) return;
    const { data = [], layout = {}, config = {}, frames } = inTheme(figure, this.#theme.name === 'dark');
    const title = (layout['meta'] as { readonly title?: unknown } | undefined)?.title;
    this.node.setAttribute('role', 'img');
    if (typeof title === 'string') this.node.setAttribute('aria-label', title);
    this.#busy = this.#busy
      .catch(() => undefined)
      .then(() =>
        plotly.react(
          this.node,
          data,
          { autosize: true, ...layout },
          { responsive: true, displaylogo: false, ...withImageButtons(plotly, config, title) },
        ),
      );
    await this.#busy;
    if (frames !== undefined) await plotly.addFrames(this.node, frames);
  }

  #fit(): void {
    if (this.#figure === undefined || !this.isVisible) return;
    void loadPlotly().then(async (plotly) => {
      await this.#busy.catch(() => undefined);
      if (this.isVisible && 'data' in this.node) await plotly.Plots.resize(this.node);
    });
  }
}

/** A figure's configuration with two buttons that save the picture, as PNG and as SVG, named after its title, in place of Plotly's one. */
function withImageButtons(plotly: Plotly, config: object, title: unknown): object {
  const words = typeof title === 'string' ? title.toLowerCase().replaceAll(/[^\p{L}\p{N}]+/gu, '-') : '';
  const filename = words.replaceAll(/^-|-$/g, '').slice(0, 80) || 'figure';
  const button = (format: 'png' | 'svg', icon: 'camera' | 'disk'): object => ({
    name: `kpw-${format}`,
    title: `Save the picture as ${format.toUpperCase()}`,
    icon: plotly.Icons[icon],
    click: (place: HTMLElement) =>
      plotly.downloadImage(place, { format, filename, scale: format === 'png' ? 2 : 1 }),
  });
  return {
    ...config,
    modeBarButtonsToRemove: [
      ...((config as { readonly modeBarButtonsToRemove?: readonly string[] }).modeBarButtonsToRemove ?? []),
      'toImage',
    ],
    modeBarButtonsToAdd: [button('png', 'camera'), button('svg', 'disk')],
  };
}

/** A copy that Plotly may change, with each of our colours replaced by its twin for dark pages. */
function inTheme(figure: PlotlyFigure, dark: boolean): PlotlyFigure {
  const copy = structuredClone(figure);
  return dark ? (withDarkColours(copy) as PlotlyFigure) : copy;
}

// Also inside texts: a title sets its second line in another colour.
const anyLightColour = new RegExp(
  Object.keys(darkTwins)
    .map((colour) => colour.replaceAll(/[()]/g, '\\$&'))
    .join('|'),
  'g',
);

function withDarkColours(value: unknown): unknown {
  if (typeof value === 'string')
    return value.replaceAll(anyLightColour, (colour) => darkTwins[colour] ?? colour);
  if (Array.isArray(value)) return value.map(withDarkColours);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, withDarkColours(inner)]));
}

/** Draws `application/vnd.plotly.v1+json`; it runs no script of the notebook, so it is safe. */
export function plotlyRendererFactory(theme: Theme): IRenderMime.IRendererFactory {
  return {
    safe: true,
    mimeTypes: [plotlyMimeType],
    defaultRank: 40,
    createRenderer: () => new PlotlyRenderer(theme),
  };
}
