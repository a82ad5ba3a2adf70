import type * as Compiler from '@tslab/typescript-for-tslab';

/** The file in which tslab declares what earlier cells left behind. */
const EARLIER_CELLS = '__prev__.d.ts';

/** The two things of the compiler that this needs. */
type CompilerParts = Pick<typeof Compiler, 'isShorthandPropertyAssignment' | 'visitEachChild' | 'factory'>;

/**
 * Writes `{ limitC }` as `{ limitC: exports.limitC }` where `limitC` comes from an earlier cell.
 *
 * tslab turns names of earlier cells into properties of its exports, but overlooks the shorthand of object literals,
 * where a name is property and value at once: such a cell failed with "limitC is not defined".
 */
export function shorthandNamesOfEarlierCells(
  compiler: CompilerParts,
  checker: Compiler.TypeChecker,
): Compiler.TransformerFactory<Compiler.SourceFile> {
  const { isShorthandPropertyAssignment, visitEachChild, factory } = compiler;
  const isOfEarlierCell = (node: Compiler.ShorthandPropertyAssignment): boolean =>
    (checker.getShorthandAssignmentValueSymbol(node)?.declarations ?? []).some((declaration) =>
      declaration.getSourceFile().fileName.endsWith(EARLIER_CELLS),
    );
  return (context) => {
    const visit = (node: Compiler.Node): Compiler.Node => {
      if (!isShorthandPropertyAssignment(node) || !isOfEarlierCell(node))
        return visitEachChild(node, visit, context);
      const name = node.name.text;
      const value = factory.createPropertyAccessExpression(factory.createIdentifier('exports'), name);
      return factory.createPropertyAssignment(name, value);
    };
    return (file) => visitEachChild(file, visit, context);
  };
}
