import { describe, expect, it } from 'vitest';
import { loadMathmlOfTex } from '../../../../toolkit/notebook/document/mathml-of-tex.js';

const mathmlOfTex = loadMathmlOfTex()!;

describe('MathML of TeX', () => {
  it('is MathML that needs no script, inline or as a block', () => {
    expect(mathmlOfTex('\\tau_1', 'inline')).toBe(
      '<math xmlns="http://www.w3.org/1998/Math/MathML"><msub><mi>&#x3C4;</mi><mn>1</mn></msub></math>',
    );
    expect(mathmlOfTex('\\frac{P}{C}', 'block')).toMatch(/^<math [^>]*display="block"><mfrac>/);
  });

  it('is nothing where the formula cannot be read', () => {
    expect(mathmlOfTex('\\frac{1', 'inline')).toBeUndefined();
    expect(mathmlOfTex('\\unknown', 'inline')).toBeUndefined();
  });

  it('shows hostile texts as text and refuses what would do more than show', () => {
    expect(mathmlOfTex('\\text{<script>alert(1)</script>" onload="x}', 'inline')).toContain(
      '&lt;script&gt;alert(1)&lt;/script&gt;&quot; onload=&quot;x',
    );
    for (const tex of [
      '\\href{javascript:alert(1)}{x}',
      '\\mmlToken{mi}[href="javascript:alert(1)"]{x}',
      '\\mmlToken{mi}[style="background:url(//host)"]{x}',
      '\\mmlToken{mi}[id="figure-1"]{x}',
    ])
      expect(mathmlOfTex(tex, 'inline')).toBeUndefined();
  });
});
