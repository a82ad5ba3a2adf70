/** Our mark: a temperature that settles above the fins that carry the heat away. */
export const logo: string = [
  '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">',
  '<rect width="32" height="32" rx="7" fill="#2b4a6f"/>',
  '<path d="M6 15.5C8.5 8.8 12 7.5 26 7.5" fill="none" stroke="#f2b35d" stroke-width="2.4" stroke-linecap="round"/>',
  '<path d="M6 25.5h20M8.5 25.5v-5.5M13.5 25.5v-9M18.5 25.5v-11M23.5 25.5v-11.5" fill="none" stroke="#fff" stroke-width="2.4" stroke-linecap="round"/>',
  '</svg>',
].join('');
