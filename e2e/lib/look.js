/** What holds of the look wherever it is used: targets for thumbs, grounds without a hue, words clear of each other. */

/** The least side of what is touched, in px. */
const TOUCH_PX = 48;

/** What is to be touched and is lower than that, each with its height; links inside a sentence are not. */
export const smallTargets = (page) =>
  page.$$eval(
    "button, .btn, .pick, input:not([type=radio], [type=checkbox], [type=hidden]), select, .views a, .views label, summary, a.touch",
    (all, least) =>
      all
        .filter((one) => one.getClientRects().length)
        .map((one) => `${one.outerHTML.slice(0, 80)}: ${Math.round(one.getBoundingClientRect().height)} px`)
        .filter((words) => Number(/(\d+) px$/.exec(words)[1]) < least),
    TOUCH_PX,
  );

/** The inks, grounds and lines that have a hue, swatches apart; a neutral ground has none. */
export const tinted = (page) =>
  page.evaluate(() => {
    const hued = (rgb) => {
      const [r, g, b] = rgb.match(/\d+/g).map(Number);
      return Math.max(r, g, b) !== Math.min(r, g, b);
    };
    const styles = (one) => ["color", "backgroundColor", "borderTopColor"].map((of) => getComputedStyle(one)[of]);
    const all = [...document.querySelectorAll("body, body *:not(.swatch, .swatch *, img)")].flatMap(styles);
    return [...new Set(all.filter((colour) => colour.startsWith("rgb") && hued(colour)))];
  });

/** Words that lie on other words, drawings apart: each pair, with by how much. */
export const overlaid = (page) =>
  page.evaluate(() => {
    // Lines that stand close share a little of their height; letters never share their width.
    const [WIDE_PX, HIGH_PX] = [3, 6];
    const words = [];
    const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
    for (let text = walker.nextNode(); text; text = walker.nextNode()) {
      const within = text.parentElement;
      if (!text.data.trim() || within.closest("svg, .sr") || !within.checkVisibility()) continue;
      const range = document.createRange();
      range.selectNodeContents(text);
      for (const box of range.getClientRects()) words.push({ say: text.data.trim().slice(0, 40), box });
    }
    words.sort((a, b) => a.box.top - b.box.top);
    return words.flatMap(({ say, box }, n) => {
      const faults = [];
      for (let m = n + 1; m < words.length && words[m].box.top < box.bottom; m += 1) {
        const other = words[m].box;
        const wide = Math.min(box.right, other.right) - Math.max(box.left, other.left);
        const high = Math.min(box.bottom, other.bottom) - Math.max(box.top, other.top);
        if (wide > WIDE_PX && high > HIGH_PX) faults.push(`"${say}" and "${words[m].say}": ${Math.round(wide)} by ${Math.round(high)} px`);
      }
      return faults;
    });
  });
