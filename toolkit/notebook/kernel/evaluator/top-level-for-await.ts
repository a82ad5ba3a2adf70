import type * as Typescript from '@tslab/typescript-for-tslab';

/** The part of the compiler that this needs. */
export type CompilerSyntax = Pick<
  typeof Typescript,
  | 'createSourceFile'
  | 'forEachChild'
  | 'isForOfStatement'
  | 'isFunctionLike'
  | 'isClassStaticBlockDeclaration'
  | 'ScriptTarget'
>;

/** Whether a cell waits in a loop of its own, `for await (…)`, and not only inside functions. */
export function hasTopLevelForAwait(compiler: CompilerSyntax, code: string): boolean {
  if (!/\bfor\s+await\b/.test(code)) return false;
  const isOrHolds = (node: Typescript.Node): boolean => {
    if (compiler.isFunctionLike(node) || compiler.isClassStaticBlockDeclaration(node)) return false;
    if (compiler.isForOfStatement(node) && node.awaitModifier !== undefined) return true;
    return compiler.forEachChild(node, isOrHolds) ?? false;
  };
  return isOrHolds(compiler.createSourceFile('cell.ts', code, compiler.ScriptTarget.Latest));
}
