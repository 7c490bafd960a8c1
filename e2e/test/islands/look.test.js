/** Every part of the stylesheet on the four grounds: looked at by axe, and kept as pictures. */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { smallTargets, tinted } from "../../lib/look.js";
import { shoot, sideways } from "../../lib/shots.js";
import { sheet, standIn } from "../../lib/stand_in.js";

const HATCHES = `<svg class="defs" width="0" height="0" aria-hidden="true" focusable="false"><defs>${[["bad1", 16, 1.1], ["bad2", 8, 1.5], ["bad3", 4, 1.8]]
  .map(([id, step, weight]) => `<pattern id="${id}" width="${step}" height="${step}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="${step}" height="${step}" class="paper"/><path d="M0 0V${step}" class="h" stroke-width="${weight}"/></pattern>`)
  .join("")}</defs></svg>`;

const STATES = [["none", "", "not looked"], ["clear", "", "looked: clear"], ["bad", "url(#bad1)", "looked: bad, pitted"], ["bad", "url(#bad2)", "looked: bad, thin"], ["bad", "url(#bad3)", "looked: bad, holed"], ["made", "", "opened and made good"]];
const fill = (pattern) => (pattern ? ` fill="${pattern}"` : "");
const mark = ([kind, pattern]) => `<svg class="mark" viewBox="0 0 48 30" aria-hidden="true"><rect x="2" y="2" width="44" height="26" class="zs ${kind}"${fill(pattern)}/></svg>`;

const KIT = `${HATCHES}<h1>Kit</h1><p class="says">Every part, once.</p>
<p class="flash" role="status">Kept as entry 413.</p>
<nav class="views" aria-label="View"><a href="#1" aria-current="true">Left</a><a href="#2">Right</a><a href="#3">Left, skins off</a></nav>
<figure class="map"><svg class="plot" viewBox="0 0 872 120" role="group" aria-label="Zones">${STATES.map((state, n) => `<a class="z ${state[0]}${n === 2 ? " on" : ""}" href="#z${n}" aria-label="${state[2]}"><path d="M${20 + n * 140} 20h120v70h-120Z"${fill(state[1])}/></a>`).join("")}
<text class="t mid" x="80" y="60">roof</text><text class="t mid on-ink" x="780" y="60">lamp</text><path class="d hair" d="M6 110H866"/><g class="spot"><circle cx="220" cy="60" r="12"/><text class="t b mid" x="220" y="65">1</text></g></svg><figcaption>Zones in every state.</figcaption></figure>
<ul class="key">${STATES.map((state) => `<li>${mark(state)}<span>${state[2]}</span></li>`).join("")}</ul>
<dl class="facts"><div><dt>Not looked</dt><dd>71 of 124 zones</dd></div><div><dt>Looked: bad</dt><dd>21</dd></div></dl>
<section><h2>Buttons</h2><p class="row"><button class="main" type="button">Keep this look</button><a class="btn" href="#b">Choose another</a><button type="button" disabled>Waits for the owner</button><button class="plain" type="button">Sign out</button></p></section>
<section><h2>Fields</h2><form class="stack-l" method="post" action="#"><div class="two"><div class="field"><label for="a">Caption</label><input id="a" value="Splash plate off"></div>
<div class="field err"><label for="b">Wall left</label><p class="hint" id="bh">Anything from 0.1 to 4.0 is taken.</p><p class="msg" id="be">52 was typed. Did you mean 0.52?</p><div class="in"><input id="b" value="52" aria-invalid="true" aria-describedby="bh be"><span class="unit">mm</span></div></div></div>
<fieldset><legend>What did the look say?</legend><div class="picks side">${STATES.slice(0, 3).map((state, n) => `<label class="pick"><input type="radio" name="s"${n ? "" : " checked"}>${mark(state)}<span><b>${state[2]}</b><small>nothing found</small></span></label>`).join("")}</div></fieldset>
<div class="field"><label for="f">Photograph</label><input id="f" type="file"></div><div class="field"><label for="n">Note</label><textarea id="n"></textarea></div></form>
<details class="opt"><summary>A reading: film or wall</summary><p>Inside.</p></details><details class="opt" open><summary>A photograph <span class="soft">one so far</span></summary><p>Inside.</p></details></section>
<section><h2>Record</h2><form class="filters" action="#"><div class="field"><label for="k">Kind</label><select id="k"><option>all kinds</option></select></div><button>Show</button></form>
<ol class="stack"><li><div class="entry"><p><a class="touch" href="#e"><b>412</b></a> <b>Looked</b>: bad, thin</p><p>Skin moves under the thumb.</p><p class="soft small">Bench A, 24 Nov 2026, 15:10</p><p class="chain">7f3a 91c2 e05b 44d8 7f3a91c2e05b44d87f3a91c2e05b44d8</p></div></li><li><div class="entry gone"><p><b>411</b> <s>looked: clear</s></p></div></li></ol>
<ul class="thumbs"><li><figure class="photo"><a href="#p"><img src="/ui/mark.svg" alt="placeholder" width="480" height="360"></a><figcaption><b>1</b> Sill front end</figcaption></figure></li></ul>
<table><caption>Zones</caption><thead><tr><th scope="col">State</th><th scope="col">Zone</th></tr></thead><tbody><tr class="sel"><td>${mark(STATES[3])}</td><th scope="row"><a href="#t">Outer sill skin</a><br><span class="soft small">Tap and probe.</span></th></tr></tbody></table></section>
<section><h2>Boxes</h2><div class="two"><div class="note stop"><h2>Not kept yet</h2><p>One thing to put right.</p></div><div class="wait"><p>No looks yet.</p></div></div><p class="flash wait" role="status">Kept copy from 14:02, no signal.</p>
<label class="field"><span class="lab">Sending 1 of 3</span><progress class="prog" max="3" value="1"></progress></label></section>`;

const SWATCHES = `<section class="light"><h3>Overcast day</h3><ul class="pair">${["#5b96d0", "#4f8cc4", "#3f73a4", "#3a4a80", "#46305f", "#45224f"].map((hex) => `<li><svg class="swatch" viewBox="0 0 84 108" role="img" aria-label="swatch"><rect width="42" height="108" fill="${hex}"/><rect x="42" width="42" height="108" fill="#2f5478"/></svg>6.4<br>45°</li>`).join("")}</ul></section>`;

let browser, server;
before(async () => {
  browser = await launch();
  const grounds = { paper: "", grey: "grey", plain: "plain", booth: "booth" };
  server = await standIn(
    Object.fromEntries(Object.entries(grounds).map(([name, ground]) => [`/${name}`, sheet("Kit", KIT + (name === "grey" ? SWATCHES : ""), { ground })])),
  );
});
after(async () => {
  await browser.close();
  await server.stop();
});

for (const name of ["paper", "grey", "plain", "booth"]) {
  test(`every part on ${name}: axe finds nothing serious, nothing runs out sideways, thumbs find their targets`, async () => {
    const page = await open(browser);
    await page.goto(`${server.plainUrl}/${name}`);
    await shoot(page, `kit-${name}`, async (width) => {
      assert.deepEqual(await sideways(page), [], `at ${width}`);
      await accessible(page, `${name} at ${width}`);
    });
    assert.deepEqual(await smallTargets(page), [], "targets under 48 px");
    if (name !== "paper") assert.deepEqual(await tinted(page), [], "a neutral ground has nothing coloured but its swatches");
    assert.deepEqual(page.wrongs, []);
    await page.context().close();
  });
}
