/** Sum of a quantity over a list; 0 of an empty one. */
export function sumOf<Item>(items: readonly Item[], of: (item: Item, index: number) => number): number {
  return items.reduce((sum, item, index) => sum + of(item, index), 0);
}
