import { lightPalette, type Palette } from '../../figures/palette.js';

/**
 * Says in `data-kpw-ground` whether a panel stands on dark or light ground, whatever the page calls its theme. It listens to
 * the page only while the panel is in view: of a panel that was replaced or taken out nothing stays behind.
 */
export function followGround(panel: HTMLElement): void {
  const look = (): void => {
    panel.dataset['kpwGround'] = isOnDark(panel) ? 'dark' : 'light';
  };
  // What a theme sets on the page has its colours by the next frame.
  const lookSoon = (): void => void window.requestAnimationFrame(look);
  const themes = new MutationObserver(lookSoon);
  const preference = window.matchMedia('(prefers-color-scheme: dark)');
  look();
  new IntersectionObserver((changes) => {
    themes.disconnect();
    preference.removeEventListener('change', lookSoon);
    if (changes.at(-1)?.isIntersecting !== true) return;
    look();
    // Notebook pages say their theme on the body or the root.
    for (const place of [document.documentElement, document.body])
      themes.observe(place, { attributes: true });
    preference.addEventListener('change', lookSoon);
  }).observe(panel);
}

/** A drawing, or a piece of one, whose colours follow the ground its panel stands on; on paper it is drawn as it is. */
export function onGround(picture: string): string {
  return picture.replace(/(fill|stroke)="([^"]+)"/g, (attribute, name: string, colour: string) => {
    const own = names.get(colour);
    return own === undefined ? attribute : `${name}="var(--kpw-${own})"`;
  });
}

const names: ReadonlyMap<string, string> = new Map(
  (Object.keys(lightPalette) as (keyof Palette)[]).map((name) => [lightPalette[name], name]),
);

/** Light text stands on dark ground. */
function isOnDark(panel: HTMLElement): boolean {
  const [red = 0, green = 0, blue = 0] =
    getComputedStyle(panel)
      .color.match(/[\d.]+/g)
      ?.map(Number) ?? [];
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue > 140;
}
