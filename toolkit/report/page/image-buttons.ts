/**
 * For scripts of pages that draw figures: the source of a function of Plotly and a figure that gives the figure's
 * configuration with two buttons, to save the picture as PNG and as SVG, each named after its title.
 */
export const imageButtons = `((Plotly, figure) => {
  const title = figure.layout.meta.title;
  const filename = title.toLowerCase().replace(/[^\\p{L}\\p{N}]+/gu, '-').replace(/^-|-$/g, '').slice(0, 80) || 'figure';
  const config = figure.config ?? {};
  return {
    ...config,
    modeBarButtonsToRemove: [...(config.modeBarButtonsToRemove ?? []), 'toImage'],
    modeBarButtonsToAdd: [['png', 'PNG', 'camera'], ['svg', 'SVG', 'disk']].map(([format, name, icon]) => ({
      name: 'kpw-' + format,
      title: 'Save the picture as ' + name,
      icon: Plotly.Icons[icon],
      click: (place) => Plotly.downloadImage(place, { format, filename, scale: format === 'png' ? 2 : 1 }),
    })),
  };
})`;
