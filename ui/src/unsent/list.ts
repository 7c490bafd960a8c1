/**
 * Shows what waits: the strip beside the crumb (`#queue-strip`), the list (`#unsent`) and the
 * title block's `[data-unsent="count"]`. The first two are made where the page has none.
 */

import { button, clock, el, entriesWait, HERE, size } from "../words";
import { saveToFile } from "./file";
import { openAsForm } from "./native";
import { changed, onChange, sendWaiting, sentHere, type Progress } from "./send";
import { list, remove, type Waiting } from "./store";

const EVERY_MS = 30_000;
/** A size is worth a word from here on. */
const TELL_BYTES = 100_000;

export function showUnsent(): void {
  const section = makeSection();
  const strip = makeStrip();
  let waiting = 0;
  let drawing = Promise.resolve();

  const draw = async (progress?: Progress): Promise<void> => {
    const heads = await list();
    waiting = heads.length;
    const fewer = waiting === 0 && sentHere() === 0;
    strip.hidden = waiting === 0;
    strip.textContent = `${waiting} not sent yet, kept on this ${HERE}`;
    section.show(heads, fewer, progress);
    for (const cell of document.querySelectorAll('[data-unsent="count"]')) {
      cell.textContent = waiting === 0 ? "nothing" : `${waiting}, kept here`;
    }
  };
  onChange((progress) => {
    drawing = drawing.then(() => draw(progress)).catch((problem) => console.warn("guidecoat:", problem));
  });

  addEventListener("online", () => void sendWaiting("clock"));
  addEventListener("pageshow", (event) => event.persisted && void sendWaiting("opened"));
  setInterval(() => waiting > 0 && void sendWaiting("clock"), EVERY_MS);
  void sendWaiting("opened");
}

function makeStrip(): HTMLAnchorElement {
  const there = document.querySelector<HTMLAnchorElement>("a#queue-strip");
  if (there) return there;
  const made = el("a", { class: "queue", id: "queue-strip", href: "#unsent", hidden: "" });
  document.querySelector("header.top")?.append(made);
  return made;
}

/**
 * The section keeps its buttons while its words change, so that focus and a half-made choice are
 * never lost. The bar comes and goes below them: above, it would push them away from under a thumb.
 */
function makeSection() {
  const section = document.querySelector<HTMLElement>("#unsent") ?? el("section", { id: "unsent", hidden: "" });
  if (!section.isConnected) document.querySelector("main")?.append(section);
  const lead = el("b");
  const rest = el("span");
  const rows = el("ol", { class: "stack" });
  const bar = el("progress", { class: "prog" });
  const barLabel = el("span", { class: "lab" });
  const barRow = el("label", { class: "field", hidden: "" }, barLabel, bar);
  const gone = el("p", { role: "status" });
  const tools = el(
    "p",
    { class: "row" },
    button("Try now", () => void sendWaiting("asked")),
    button("Save to a file", () => void saveToFile()),
  );
  const box = el("div", { class: "wait stack" }, el("p", {}, lead, " ", rest), rows, tools, barRow);
  section.replaceChildren(el("h2", {}, "Not sent yet"), box, gone);

  let drawn = "";
  let told = 0;

  const show = (heads: Waiting[], empty: boolean, progress?: Progress): void => {
    section.hidden = empty;
    box.hidden = heads.length === 0;
    lead.textContent = `${entriesWait(heads.length)} on this ${HERE}.`;
    rest.textContent =
      "They go by themselves when there is a signal, once each, in this order. Nothing you typed is lost.";
    const now = JSON.stringify(heads);
    if (now !== drawn) rows.replaceChildren(...heads.map(row));
    drawn = now;
    barRow.hidden = !progress;
    if (progress) {
      barLabel.textContent = `Sending ${progress.at} of ${progress.of}`;
      bar.max = progress.of;
      bar.value = progress.at - 1;
    }
    const sent = sentHere();
    if (sent !== told) {
      const words = `${sent === 1 ? "One entry has" : `${sent} entries have`} gone from here to the record. `;
      gone.replaceChildren(words, el("a", { class: "touch", href: location.pathname + location.search }, "Draw this sheet again"));
    }
    told = sent;
  };
  return { show };
}

function row(head: Waiting): HTMLLIElement {
  const told = head.bytes >= TELL_BYTES ? `, ${size(head.bytes)}` : "";
  const item = el("li", {}, `${head.label}${told}. `, el("span", { class: "soft" }, clock(head.made)));
  if (!head.refused) return item;
  item.classList.add("refused");
  const drop = button("Drop it", () => {
    if (drop.dataset.sure) return void remove(head.entry).then(() => changed());
    drop.dataset.sure = "yes";
    drop.textContent = "Press again to drop it for good";
  });
  item.append(
    el("p", {}, el("b", {}, "Not kept yet. "), head.refused.say),
    el("p", { class: "row" }, button("Open it and put it right", () => void openAsForm(head)), drop),
  );
  return item;
}
