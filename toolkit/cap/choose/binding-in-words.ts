import type { BindingConstraint } from '../setting/binding-constraint.js';

/** What binds, in two or three words: for tables and pictures. */
export const bindingInWords: Readonly<Record<BindingConstraint, string>> = {
  temperature: 'temperature',
  supply: "supply's budget",
  'max-cap': 'highest cap',
  'default-cap': 'default cap',
  'tested-range': 'powers logged',
  'min-throughput': 'least throughput',
  'min-cap': 'lowest cap',
  objective: 'objective',
};
