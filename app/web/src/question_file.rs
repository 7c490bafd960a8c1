//! A question as one file that opens on any phone without a connection: for an owner who cannot reach the shop's
//! computer. Everything is inside it; it loads nothing and sends nothing.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use job::car::Car;
use job::ids::{CarId, Hash};
use job::person::Deed;
use job::question::{Question, Shown};
use job::shop::ShopError;
use job::what::Photograph;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::access::Access;
use crate::colour::panel::drawn::Easel;
use crate::fault::Fault;
use crate::layout::when;
use crate::questions::{self, looks, options, place};
use crate::state::App;
use crate::{audit, drawing};

/// The most bytes that the pictures of one file take as they stand in it; a file under 1 MB passes every mailbox.
const PICTURES: usize = 800_000;

/// What the file may do: show itself. Its style is inline, which no page of the program may have.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";

/// The style of the file: the inks and strokes of the sheets, in type that can be read at arm's length.
const STYLE: &str = "
body{margin:0 auto;padding:20px 18px 48px;max-width:44em;background:#FBF8F1;color:#15263F;font:20px/1.5 system-ui,sans-serif}
h1{margin:0 0 8px;font-size:32px;line-height:1.2}h2{margin:40px 0 12px;padding-top:12px;border-top:1px solid #1B3A63;font-size:24px;line-height:1.25}
h3{margin:0;font-size:22px}p{margin:12px 0}svg,img{display:block;width:100%;height:auto}figure{margin:16px 0}
figcaption{font-size:17px;color:#4B5A70}ol,ul{margin:0;padding:0;list-style:none}.plain-list li::before{content:'\\2013\\a0'}
.opt{margin:16px 0;padding:16px;border:2px solid #1B3A63}.lab,.small{font-size:17px;color:#4B5A70}
.stop{padding:16px;border:3.5px solid #1B3A63}.chain{font:16px/1.5 monospace;overflow-wrap:anywhere}.dim{max-width:380px}
.d,.thin,.hair,.cut{fill:none;stroke:#1B3A63;stroke-width:2;stroke-linejoin:round}.thin{stroke-width:1.25}
.hair{stroke:#76839A;stroke-width:1}.cut{stroke-width:3.5}.solid{fill:#1B3A63;stroke:none}.paper{fill:#FBF8F1}.h{fill:none;stroke:#1B3A63}
.z path,.zs{stroke:#1B3A63;stroke-width:1.25}.z.none path,.zs.none{fill:#FBF8F1;stroke-dasharray:5 4}.zs.clear{fill:#FBF8F1}
.grey{background:#777777;color:#000;font-weight:600}.grey :is(.lab,.small,figcaption){color:#000}.grey :is(h2,.opt,.stop){border-color:#000}
.thumbs{display:grid;grid-template-columns:1fr 1fr;gap:12px}.thumbs figure{margin:0}.pair{display:grid;grid-template-columns:repeat(6,minmax(0,1fr));gap:8px}
.pair li{font-size:16px;line-height:1.25;text-align:center}
.z.on path{stroke-width:4}.t{fill:#15263F;font:15px sans-serif}.mid{text-anchor:middle}.end{text-anchor:end}.num{font:600 40px sans-serif}.defs{position:absolute}
";

/// The file.
pub(crate) async fn file(
    State(app): State<App>,
    access: Access,
    Path((id, number)): Path<(CarId, usize)>,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let car = app.shop.car(id).await?;
    let thread = questions::thread(&car, number)?;
    let (_, question) = thread.asked().ok_or(Fault::Bad(
        "This question is a draft. Send it to the owner first; then the file says what is on record.".into(),
    ))?;
    if thread.is_withdrawn() {
        return Err(Fault::Bad("This question was taken back: there is nothing to answer.".into()));
    }
    let shown = app.shop.shown(&car, question).await?;
    let (panels, room) = panels(&app, &car, question).await?;
    let pictures = pictures(&app, &car, question, room).await?;
    audit::opened(&app, Some(id), audit::By::Shop(&access), &format!("question {number} as a file")).await;
    let page = draw(&app, &car, number, &shown, &Pictures { panels, photographs: pictures }).into_string();
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8".to_string()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"question-{number}.html\"")),
        (header::CACHE_CONTROL, "no-store".to_string()),
    ];
    Ok((headers, page).into_response())
}

/// The pictures that stand in a file.
struct Pictures<'a> {
    /// Of the panels of a question about the colour, as text.
    panels: Vec<(looks::Seen, String)>,
    /// The photographs with their dates, and their bytes as text where there are any.
    photographs: Vec<(&'a Photograph, String, Option<String>)>,
}

/// The panels of a question about the colour, drawn, and the room that is left.
async fn panels(app: &App, car: &Arc<Car>, question: &Question) -> Result<(Vec<(looks::Seen, String)>, usize), Fault> {
    let wanted = if question.is_of_colour() { looks::pictures(car, question) } else { Vec::new() };
    let drawn = Easel::with(app, car, move |easel| {
        let mut drawn = Vec::new();
        for seen in wanted {
            match seen.draw(easel) {
                Ok(bytes) => drawn.push((seen, base64(&bytes))),
                // What cannot be shown says so in its place.
                Err(Fault::Shop(ShopError::Preview(_) | ShopError::Shelf(_))) => {}
                Err(fault) => return Err(fault),
            }
        }
        Ok(drawn)
    });
    let mut room = PICTURES;
    let mut within = Vec::new();
    for (seen, text) in drawn.await? {
        if text.len() <= room {
            room -= text.len();
            within.push((seen, text));
        }
    }
    Ok((within, room))
}

/// The photographs of a question with their bytes as text; those without room or file have none.
async fn pictures<'a>(
    app: &App,
    car: &'a Car,
    question: &Question,
    mut room: usize,
) -> Result<Vec<(&'a Photograph, String, Option<String>)>, Fault> {
    let mut found = Vec::new();
    for (entry, photo) in questions::photographs(car, question) {
        let text = bytes(app, photo.thumb).await?.map(|bytes| base64(&bytes)).filter(|text| text.len() <= room);
        room -= text.as_ref().map_or(0, String::len);
        found.push((photo, when(app, entry.when()), text));
    }
    Ok(found)
}

async fn bytes(app: &App, hash: Hash) -> Result<Option<std::sync::Arc<[u8]>>, Fault> {
    Ok(app.shop.blob(hash).await?)
}

fn draw(app: &App, car: &Car, number: usize, shown: &Shown, pictures: &Pictures<'_>) -> Markup {
    let question = &shown.question;
    let of_colour = question.is_of_colour();
    let from = |seen: looks::Seen| {
        let text = pictures.panels.iter().find(|(drawn, _)| *drawn == seen).map(|(_, text)| text)?;
        Some(format!("data:image/png;base64,{text}"))
    };
    let letters = match question.options.iter().map(|o| o.key.as_str()).collect::<Vec<_>>().split_last() {
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
        None => String::new(),
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { "Question " (number) ": " (car.details.title) }
                style { (PreEscaped(STYLE)) }
            }
            body class=[of_colour.then_some("grey")] {
                (drawing::patterns())
                main {
                    p.small { (car.details.title) @if car.details.invented { ". An invented car" } }
                    h1 { "Question " (number) }
                    p { b { (question.ask) } }
                    p { (question.found) }
                    @if of_colour { (looks::reading()) }
                    @for (photo, at, bytes) in &pictures.photographs {
                        figure {
                            @match bytes {
                                Some(text) => img src={ "data:image/jpeg;base64," (text) } alt=(photo.caption);,
                                None => p.stop { "This photograph did not come with the file. Ask the shop for it." },
                            }
                            figcaption { (photo.caption) ", " (at) }
                        }
                    }
                    @if of_colour {
                        (looks::liked(car, question, &from))
                        h2 { "What can be chosen" }
                    } @else {
                        (place::figure(car, &question.zones))
                        h2 { "What can be done" }
                    }
                    (options::cards(question, &shown.money, |option| if of_colour { looks::option(car, question, option, &from) } else { html! {} }))
                    (questions::serves(car, question))
                    h2 { "How to answer" }
                    div.stop {
                        p { b { "Please answer by " (question.by.strftime("%A %-d %B %Y")) "." } @if of_colour { " If you do not answer, no colour is mixed: silence is not a yes." } @else { " If you do not answer, we do not go on there: silence is not a yes." } }
                        p { "By mail, write: " b { "Question " (number) ", option " (letters) } " (the one you choose), and anything you want to add." }
                        p { "By telephone, say the same. If none of them is right, say so and we talk." }
                    }
                    @if !question.waits.is_empty() {
                        p { "Until then this waits:" }
                        ul.plain-list { @for line in &question.waits { li { (line) } } }
                    }
                    p { "The metal work of the whole shell, as far as is known today: " b { (questions::range(&shown.range)) } "." }
                    p.small { "Drawn on " (when(app, Timestamp::now())) " from " (shown.count) " entries of the record of this car. Your answer is kept with exactly what stands here. The head of the record:" }
                    p.chain { (shown.head) }
                }
            }
        }
    }
}

/// Bytes as text, RFC 4648 section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let at = |i: usize| u32::from(three.get(i).copied().unwrap_or_default());
        let bits = at(0) << 16 | at(1) << 8 | at(2);
        for i in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * i) & 63) as usize];
            text.push(if i <= three.len() { char::from(letter) } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648 section 10.
    #[test]
    fn published_base64_test_vectors() {
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(bytes.as_bytes()), text);
        }
    }
}
