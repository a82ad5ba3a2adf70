import ts from 'typescript';
import { UNIT_SUFFIXES } from '../../toolkit/units/suffixes.js';
import { type PublicFace, publicFace } from './public-program.js';
import { REPOSITORY, type SourceFile } from './repository.js';

const SUFFIXES_LONGEST_FIRST = Object.keys(UNIT_SUFFIXES).sort((a, b) => b.length - a.length);

/** The unit suffix of a name in camel case: the longest that follows a small letter or a digit. */
export function suffixOf(name: string): string | undefined {
  return SUFFIXES_LONGEST_FIRST.find(
    (suffix) => name.endsWith(suffix) && /[a-z0-9]$/.test(name.slice(0, -suffix.length)),
  );
}

/** A public field that holds one number or many. */
export interface NumericField {
  /** `Interface.field`, or `Interface.outer.field` for a field of an object inside it. */
  readonly name: string;
  readonly field: string;
  readonly path: string;
  readonly line: number;
}

/** Named types of the toolkit that stand for one uncertain number. */
const UNCERTAIN_NUMBERS: ReadonlySet<string> = new Set([
  'Estimate',
  'EstimatedNumber',
  'UncertainInput',
  'CorrelatedMean',
]);

/** Every numeric field of the public interfaces and object types, also of objects written inside them. */
export function numericFields(): readonly NumericField[] {
  const face = publicFace();
  const found = new Map<string, NumericField>();
  for (const { name, isValue, declaration } of face.symbols) {
    if (isValue && !ts.isClassDeclaration(declaration)) continue;
    collect(face, face.program.getTypeChecker().getTypeAtLocation(declaration), name, found, 0);
  }
  return [...found.values()];
}

function collect(
  face: PublicFace,
  type: ts.Type,
  owner: string,
  found: Map<string, NumericField>,
  depth: number,
): void {
  const checker = face.program.getTypeChecker();
  for (const member of type.isUnion() ? type.types : [type]) {
    if ((member.flags & ts.TypeFlags.Object) === 0 || depth > 4) continue;
    for (const property of member.getProperties()) {
      const declaration = property.declarations?.[0];
      const source = declaration?.getSourceFile();
      if (declaration === undefined || source === undefined) continue;
      if (!source.fileName.startsWith(`${REPOSITORY}toolkit/`)) continue;
      const propertyType = checker.getNonNullableType(checker.getTypeOfSymbol(property));
      const name = `${owner}.${property.name}`;
      if (isNumeric(checker, propertyType)) {
        const line = source.getLineAndCharacterOfPosition(declaration.getStart()).line + 1;
        found.set(`${source.fileName}:${line}:${property.name}`, {
          name,
          field: property.name,
          path: source.fileName.replace(REPOSITORY, ''),
          line,
        });
        continue;
      }
      for (const inner of writtenInside(checker, propertyType)) collect(face, inner, name, found, depth + 1);
    }
  }
}

function isNumeric(checker: ts.TypeChecker, type: ts.Type): boolean {
  if (UNCERTAIN_NUMBERS.has(type.aliasSymbol?.name ?? type.symbol?.name ?? '')) return true;
  if (type.isUnion()) return type.types.some((member) => isNumeric(checker, member));
  if ((type.flags & ts.TypeFlags.Number) !== 0) return true;
  const element = elementOf(checker, type);
  return element !== undefined && isNumeric(checker, element);
}

function elementOf(checker: ts.TypeChecker, type: ts.Type): ts.Type | undefined {
  // The characters of a text are no elements.
  if ((type.flags & ts.TypeFlags.StringLike) !== 0) return undefined;
  return checker.getIndexTypeOfType(type, ts.IndexKind.Number);
}

/** Object types written in place, alone, in a union or as elements of a list; named types speak for themselves. */
function writtenInside(checker: ts.TypeChecker, type: ts.Type): readonly ts.Type[] {
  if (type.isUnion()) return type.types.flatMap((member) => writtenInside(checker, member));
  const element = elementOf(checker, type);
  if (element !== undefined) return writtenInside(checker, element);
  return type.symbol?.name === '__type' && type.aliasSymbol === undefined ? [type] : [];
}

/** Assignments of a name with one unit to a name with another: `powerW: energyJ`, `const timeS = delayMs`. */
export function mismatchedSuffixes({ path, text }: SourceFile): readonly string[] {
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true);
  const problems: string[] = [];
  const compare = (node: ts.Node, to: string | undefined, from: string | undefined): void => {
    if (to === undefined || from === undefined) return;
    const [toSuffix, fromSuffix] = [suffixOf(to), suffixOf(from)];
    if (toSuffix === undefined || fromSuffix === undefined || toSuffix === fromSuffix) return;
    const line = source.getLineAndCharacterOfPosition(node.getStart()).line + 1;
    problems.push(
      `${path}:${line} ${to} takes ${from}: ${UNIT_SUFFIXES[toSuffix].quantity}, ${toSuffix}, from ${UNIT_SUFFIXES[fromSuffix].quantity}, ${fromSuffix}`,
    );
  };
  const visit = (node: ts.Node): void => {
    if (ts.isPropertyAssignment(node)) compare(node, nameOf(node.name), nameOf(node.initializer));
    else if (ts.isVariableDeclaration(node) && node.initializer !== undefined)
      compare(node, nameOf(node.name), nameOf(node.initializer));
    else if (ts.isBindingElement(node)) {
      if (node.propertyName !== undefined) compare(node, nameOf(node.name), nameOf(node.propertyName));
      if (node.initializer !== undefined) compare(node, nameOf(node.name), nameOf(node.initializer));
    } else if (ts.isBinaryExpression(node) && ASSIGNING.has(node.operatorToken.kind)) {
      const [to, from] = [nameOf(node.left), nameOf(node.right)];
      if (!(isStep(node.operatorToken.kind) && isTemperature(to) && isTemperature(from)))
        compare(node, to, from);
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return problems;
}

/** Operators after which both sides have one unit. */
const ASSIGNING: ReadonlySet<ts.SyntaxKind> = new Set([
  ts.SyntaxKind.EqualsToken,
  ts.SyntaxKind.PlusEqualsToken,
  ts.SyntaxKind.MinusEqualsToken,
  ts.SyntaxKind.QuestionQuestionEqualsToken,
]);

/** A temperature may be moved by a difference, and a difference made by taking a temperature off. */
function isStep(operator: ts.SyntaxKind): boolean {
  return operator === ts.SyntaxKind.PlusEqualsToken || operator === ts.SyntaxKind.MinusEqualsToken;
}

function isTemperature(name: string | undefined): boolean {
  return name !== undefined && ['C', 'K'].includes(suffixOf(name) ?? '');
}

/** The last name of `a`, `a.b`, `a!`, `a.b[i]`, `a ?? b`; undefined for anything computed. */
function nameOf(node: ts.Node): string | undefined {
  if (ts.isIdentifier(node) || ts.isStringLiteral(node)) return node.text;
  if (ts.isPropertyAccessExpression(node)) return node.name.text;
  if (
    ts.isNonNullExpression(node) ||
    ts.isParenthesizedExpression(node) ||
    ts.isElementAccessExpression(node)
  )
    return nameOf(node.expression);
  return undefined;
}
