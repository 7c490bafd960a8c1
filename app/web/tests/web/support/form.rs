//! Forms as a browser sends them, and the things that go into them.

use std::fmt::Display;
use std::io::Cursor;

use axum::body::Body;
use axum::http::{Request, header};
use job::ids::EntryId;
use job::person::Person;

use super::HOST;

const BOUNDARY: &str = "----a-boundary-of-the-tests";

/// A form with fields and files.
#[derive(Clone, Default)]
pub(crate) struct Form(Vec<u8>);

impl Form {
    pub(crate) fn new() -> Self {
        Self::default()
    }

    pub(crate) fn text(self, name: &str, value: impl Display) -> Self {
        self.part(&format!("name=\"{name}\""), value.to_string().as_bytes())
    }

    pub(crate) fn file(self, name: &str, file: &str, bytes: impl AsRef<[u8]>) -> Self {
        self.part(
            &format!("name=\"{name}\"; filename=\"{file}\"\r\nContent-Type: application/octet-stream"),
            bytes.as_ref(),
        )
    }

    /// A field whose bytes need not be text.
    pub(crate) fn part(mut self, head: &str, bytes: &[u8]) -> Self {
        self.0.extend_from_slice(format!("--{BOUNDARY}\r\nContent-Disposition: form-data; {head}\r\n\r\n").as_bytes());
        self.0.extend_from_slice(bytes);
        self.0.extend_from_slice(b"\r\n");
        self
    }

    pub(crate) fn pairs<'a>(self, pairs: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        pairs.into_iter().fold(self, |form, (name, value)| form.text(name, value))
    }

    pub(crate) fn request(self, path: &str, headers: &[(&str, &str)]) -> Request<Body> {
        let mut bytes = self.0;
        bytes.extend_from_slice(format!("--{BOUNDARY}--\r\n").as_bytes());
        request(path, headers, bytes)
    }

    /// The form as it arrives when the line goes dead on the way.
    pub(crate) fn cut_off(self, path: &str) -> Request<Body> {
        let mut bytes = self.0;
        bytes.truncate(bytes.len() - 5);
        request(path, &[], bytes)
    }
}

fn request(path: &str, headers: &[(&str, &str)], bytes: Vec<u8>) -> Request<Body> {
    let mut builder = Request::post(path)
        .header(header::HOST, HOST)
        .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={BOUNDARY}"));
    for (name, value) in headers {
        builder = builder.header(*name, *value);
    }
    builder.body(Body::from(bytes)).unwrap()
}

/// What a new car needs.
pub(crate) fn car(title: &str, by: &Person) -> Form {
    Form::new()
        .pairs([
            ("title", title),
            ("body", "two_door_closed"),
            ("year", "1968"),
            ("climate", "temperate_salted"),
            ("kept", "unknown"),
            ("aim", "fine_driver"),
        ])
        .text("who", by.id)
}

/// The fields of every kind of entry that the entry form takes, without identifier and person.
pub(crate) const KINDS: [(&str, &[(&str, &str)]); 9] = [
    (
        "looked",
        &[
            ("zone", "Z01.L"),
            ("how", "tap_and_probe"),
            ("result", "bad"),
            ("severity", "thin"),
            ("note", "soft at the end"),
        ],
    ),
    (
        "read",
        &[
            ("zone", "Z02.L"),
            ("quantity", "wall_mm"),
            ("value", "0.62"),
            ("instrument", "other"),
            ("instrument_name", "Sound gauge"),
            ("precision_abs", "0.05"),
            ("place", "640 mm back"),
            ("limit", "0.8"),
            ("limit_source", "80 percent of new"),
        ],
    ),
    (
        "photographed",
        &[("zone", "Z01.L"), ("side", "left"), ("stage", "bare_metal"), ("caption", "A hole with a rule")],
    ),
    (
        "opened",
        &[
            ("zone", "Z02.R"),
            ("found", "holed"),
            ("through", "8 mm hole"),
            ("length_mm", "120"),
            ("width_mm", "40"),
            ("note", "wet inside"),
        ],
    ),
    ("made_good", &[("zone", "Z03.R"), ("note", "1.0 mm let in, plug welded")]),
    ("worked", &[("zone", "Z03.R"), ("part", "metal"), ("hours", "6.5"), ("note", "two of us")]),
    ("stage_reached", &[("stage", "bare_metal")]),
    ("climate_read", &[("air", "18"), ("rh", "70"), ("panel", "15")]),
    (
        "film_judged",
        &[
            ("zone", "Z01.R"),
            ("nominal_um", "80"),
            ("readings", "82 79 91"),
            ("instrument", "other"),
            ("instrument_name", "Film gauge"),
            ("precision_abs", "2"),
        ],
    ),
];

/// One entry of a kind, by a person, with a new identifier; a photograph comes with its picture.
pub(crate) fn entry(kind: &str, by: &Person) -> Form {
    let (_, fields) = KINDS.iter().find(|(k, _)| *k == kind).unwrap();
    let form =
        Form::new().text("kind", kind).text("entry", EntryId::fresh()).text("who", by.id).pairs(fields.iter().copied());
    if kind == "photographed" { form.file("photo", "IMG_1.jpg", jpeg(320, 200)) } else { form }
}

pub(crate) fn one_of_each(by: &Person) -> impl Iterator<Item = Form> {
    KINDS.iter().map(|(kind, _)| entry(kind, by))
}

/// A picture as a camera sends it.
pub(crate) fn jpeg(width: u32, height: u32) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(width, height, |x, y| image::Rgb([(x % 251) as u8, (y % 241) as u8, 90]));
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

/// An invented paint at six angles, once for every name.
pub(crate) fn spectra(names: &[&str]) -> String {
    let mut text = String::from("name,geometry");
    (0..31).for_each(|i| text.push_str(&format!(",{}", 400 + 10 * i)));
    text.push('\n');
    for (n, name) in names.iter().enumerate() {
        for (angle, level) in
            [("45as-15", 0.9), ("45as15", 0.7), ("45as25", 0.5), ("45as45", 0.25), ("45as75", 0.15), ("45as110", 0.12)]
        {
            text.push_str(&format!("{name},{angle}"));
            (0..31).for_each(|i| {
                text.push_str(&format!(",{:.4}", level * (1.0 - 0.02 * (i as f64 - 10.0 - n as f64).abs())))
            });
            text.push('\n');
        }
    }
    text
}
