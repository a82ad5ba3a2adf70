import type { Candidate } from './column-candidates.js';
import { type ColumnRole, type CombineRule, ROLE_RULES } from './column-rules.js';

/** How several columns of one quantity are told apart. */
export type Resolution =
  | { readonly kind: 'package'; readonly candidate: Candidate; readonly because: string }
  | { readonly kind: 'cores'; readonly candidates: readonly Candidate[]; readonly combine: CombineRule };

const PACKAGE = /^(?:package|pkg|ppackage|die|tdie|socket|total)$/;
const CORE = /^(?:cores?|threads?|tcore)$/;
const LOGICAL_PROCESSOR = /^cpu$/;
/** Kinds of cores that one processor mixes. */
const CORE_KIND = /^(?:p|e|performance|efficiency|big|little|)$/;
const AVERAGE = /^(?:avg|average|mean)$/;

/**
 * Chooses among columns of one quantity: the one of the whole package, where there is one beside those of the cores;
 * else all those of the cores together, by the rule of the role. Undefined where neither is plain, or where the rule
 * would be a guess: core powers do not add up to the power of the package.
 */
export function resolveCores(role: ColumnRole, candidates: readonly Candidate[]): Resolution | undefined {
  const packages = candidates.filter((candidate) => !isOfCore(candidate) && hasWord(candidate, PACKAGE));
  if (packages.length === 1)
    return {
      kind: 'package',
      candidate: packages[0],
      because: `${packages[0].because}, and the only one of the whole package`,
    };
  if (packages.length > 1) return undefined;

  const cores = candidates.filter(isOfCore);
  const logical = candidates.filter(isOfLogicalProcessor);
  // Two numbered processors may be two sockets; more are the logical processors of one.
  const numbered = cores.length > 0 ? cores : logical.length > 2 ? logical : [];
  if (numbered.length === 0) return undefined;
  const others = candidates.filter((candidate) => !numbered.includes(candidate));
  const [other] = others;
  if (other !== undefined) {
    // The average over the cores is a fair frequency, but no fair temperature: the hottest one limits.
    const isWhole = others.length === 1 && (role === 'frequency' || !hasWord(other, AVERAGE));
    return isWhole
      ? { kind: 'package', candidate: other, because: `${other.because}, and the only one not of a core` }
      : undefined;
  }
  const combine = ROLE_RULES[role].ofCores;
  const families = new Set(numbered.map(familyOf));
  if (combine === undefined || families.size > 1 || numbered.length < 2) return undefined;
  return { kind: 'cores', candidates: numbered, combine };
}

const bare = (text: string): string => text.replace(/\d+/g, '');

function hasWord({ parsed }: Candidate, pattern: RegExp): boolean {
  return parsed.words.some((text) => pattern.test(bare(text)));
}

function isNumbered({ parsed }: Candidate): boolean {
  return parsed.words.some((text) => /\d/.test(text));
}

function isOfCore(candidate: Candidate): boolean {
  return isNumbered(candidate) && hasWord(candidate, CORE);
}

function isOfLogicalProcessor(candidate: Candidate): boolean {
  return isNumbered(candidate) && hasWord(candidate, LOGICAL_PROCESSOR);
}

/** What the header says but for the number and the kind of its core, with the unit. */
function familyOf({ parsed }: Candidate): string {
  const words = parsed.words.map(bare).filter((text) => !CORE_KIND.test(text));
  return `${words.join(' ')} ${parsed.unit?.symbol ?? ''}`;
}
