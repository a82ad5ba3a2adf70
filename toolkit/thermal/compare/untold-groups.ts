/**
 * The largest groups in which no two members are told apart. "Not told apart" does not carry over (the first and third
 * of three may be told apart although neither is from the second), so one member can stand in several groups.
 *
 * Maximal cliques after Bron and Kerbosch with a pivot [BronKerbosch1973].
 *
 * @param count - members are 0 … count − 1, best first
 * @returns groups with ascending members, ordered by their members
 */
export function untoldGroups(count: number, toldApart: (a: number, b: number) => boolean): number[][] {
  const together = (a: number, b: number): boolean => a !== b && !toldApart(a, b);
  const groups: number[][] = [];
  const extend = (group: readonly number[], open: readonly number[], done: readonly number[]): void => {
    if (open.length === 0) {
      if (done.length === 0) groups.push([...group].sort((a, b) => a - b));
      return;
    }
    const reach = (member: number): number => open.filter((other) => together(member, other)).length;
    const pivot = [...open, ...done].reduce((best, member) => (reach(member) > reach(best) ? member : best));
    let left = open;
    let finished = done;
    for (const member of open.filter((candidate) => !together(pivot, candidate))) {
      const near = (other: number): boolean => together(member, other);
      extend([...group, member], left.filter(near), finished.filter(near));
      left = left.filter((other) => other !== member);
      finished = [...finished, member];
    }
  };
  extend(
    [],
    Array.from({ length: count }, (_, i) => i),
    [],
  );
  return groups.sort((a, b) => {
    const at = a.findIndex((member, i) => member !== b[i]);
    return a[at] - b[at];
  });
}
