// Runs before anything is drawn, so that a dark page never flashes white.
{
  const chosen = localStorage.getItem('kelvin-per-watt:theme');
  const isDark = chosen === null ? matchMedia('(prefers-color-scheme: dark)').matches : chosen === 'dark';
  document.documentElement.dataset['theme'] = isDark ? 'dark' : 'light';
}
