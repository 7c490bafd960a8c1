/** What holds of the look wherever it is used: targets for thumbs, and grounds without a hue. */

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
