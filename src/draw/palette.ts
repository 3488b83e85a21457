/**
 * Colours of pictures: a light card with its own border, so that it reads the same in a dark and in a light room. Orange and
 * blue stay apart for eyes that do not tell red from green, and a shape says the same as the colour does.
 */
export const palette = {
  card: '#fbf8f1',
  border: '#5a6373',
  ink: '#1b2330',
  muted: '#4a5363',
  line: '#717b8c',
  /** Only helps to read lengths: every length has its words beside it. */
  grid: '#d9d5ca',
  spent: '#a8430f',
  back: '#0b5a8f',
} as const;
