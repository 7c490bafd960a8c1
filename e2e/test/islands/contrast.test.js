/** The inks on the four grounds, computed from the stylesheet. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const css = readFileSync(new URL("../../../ui/src/css/tokens.css", import.meta.url), "utf8");

/** The colours of one ground, over those of `:root`. */
function ground(selector) {
  const rules = [...css.matchAll(/([^{}]+)\{([^}]*)\}/g)].filter(([, head]) => {
    const last = head.replace(/\/\*[\s\S]*?\*\//g, "").trim();
    return last === ":root" || last === selector;
  });
  assert.ok(rules.length > 0 && (selector === ":root" || rules.length > 1), `no rule for ${selector}`);
  return Object.fromEntries(rules.flatMap(([, , body]) => [...body.matchAll(/--(\w+): (#[0-9A-F]{6});/g)].map(([, name, hex]) => [name, hex])));
}

/** Relative luminance, WCAG 2.2, definition of "relative luminance". */
function luminance(hex) {
  const [r, g, b] = [1, 3, 5].map((at) => {
    const c = parseInt(hex.slice(at, at + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** Contrast ratio, WCAG 2.2, definition of "contrast ratio". */
function contrast(one, other) {
  const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a);
  return (light + 0.05) / (dark + 0.05);
}

test("published_black_on_white_is_21_to_1 (WCAG 2.2: ratios range from 1 to 21)", () => {
  assert.ok(Math.abs(contrast("#000000", "#FFFFFF") - 21) < 1e-9);
  assert.equal(contrast("#777777", "#777777"), 1);
});

for (const selector of [":root", ":root.grey", ":root.plain", ":root.booth"]) {
  test(`every ink can be read on ${selector}`, () => {
    const { ground: paper, sheet, wash, ink, text, soft, line } = ground(selector);
    for (const under of [paper, sheet, wash]) {
      for (const [name, over] of Object.entries({ text, soft, ink })) {
        // 4.5: success criterion 1.4.3, text of any size.
        const ratio = contrast(over, under);
        assert.ok(ratio >= 4.5, `${name} ${over} on ${under} is ${ratio.toFixed(2)}`);
      }
    }
    // 3: success criterion 1.4.11, what is needed to see a field or a drawing.
    assert.ok(contrast(line, sheet) >= 3, `line ${line} on ${sheet}`);
  });
}
