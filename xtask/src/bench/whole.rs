//! Measures of the whole program as a user meets it: the demo, the start, the pages, a verification.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use anyhow::{Context, Result, bail, ensure};

use super::http;
use super::report::Row;
use super::server::Server;

const STARTS: usize = 9;
const FETCHES: usize = 20;
const VERIFICATIONS: usize = 9;
/// Of one sheet with many variants (a view, a zone) so many are fetched, in the order of the page.
const VARIANTS: usize = 8;

const DEMO_LIMIT_S: f64 = 45.0;
const START_LIMIT_S: f64 = 0.300;
const PAGE_LIMIT_S: f64 = 0.030;
/// What an owner's phone loads first, at most.
const OWNER_BYTES: usize = 300_000;

/// All rows of the whole program; `scratch` is emptied first.
pub(super) fn rows(binary: &Path, scratch: &Path) -> Vec<Row> {
    let demo = scratch.join("demo");
    let database = demo.join("shop.sqlite");
    let prepared = empty(scratch);
    let mut rows = vec![
        row(
            "the demo car from survey to dossier (`demo --no-serve`)",
            DEMO_LIMIT_S,
            prepared.and_then(|()| load_demo(binary, &demo)),
        ),
        row(
            "start to first page, empty shop",
            START_LIMIT_S,
            starts(|run| Server::start(binary, &scratch.join(format!("empty-{run}.sqlite")))),
        ),
        row("start to first page, demo shop", START_LIMIT_S, starts(|_| Server::start(binary, &database))),
    ];
    match Server::start(binary, &database).and_then(|server| pages(&server, binary, &database)) {
        Ok(measured) => rows.extend(measured),
        Err(error) => rows.push(Row::not_measured("pages of the demo car", "30.0 ms", &error)),
    }
    rows
}

pub(super) fn row(work: &str, limit_s: f64, seconds: Result<f64>) -> Row {
    match seconds {
        Ok(seconds) => Row::time(work, seconds, Some(limit_s)),
        Err(error) => Row::not_measured(work, super::report::duration(limit_s), &error),
    }
}

fn empty(folder: &Path) -> Result<()> {
    if folder.exists() {
        std::fs::remove_dir_all(folder)?;
    }
    std::fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))
}

fn load_demo(binary: &Path, out: &Path) -> Result<f64> {
    timed(Command::new(binary).args(["demo", "--no-serve", "--out"]).arg(out))
}

/// Whole seconds of a process from start to end; anything but success is an error.
pub(super) fn timed(command: &mut Command) -> Result<f64> {
    let begun = Instant::now();
    let output = command.stdin(Stdio::null()).output().context("cannot start the program")?;
    let seconds = begun.elapsed().as_secs_f64();
    ensure!(output.status.success(), "{}: {}", output.status, String::from_utf8_lossy(&output.stderr).trim());
    Ok(seconds)
}

fn starts(start: impl Fn(usize) -> Result<Server>) -> Result<f64> {
    let times: Result<Vec<f64>> = (0..STARTS).map(|run| Ok(start(run)?.to_first_page.as_secs_f64())).collect();
    Ok(median(times?))
}

/// Every sheet that the car's first page leads to, slowest first, then a verification of the record.
fn pages(server: &Server, binary: &Path, database: &Path) -> Result<Vec<Row>> {
    let list = http::page(&server.authority, "/")?;
    let car =
        links(&list.body).into_iter().find_map(|link| car_id(&link)).context("the list of cars leads to no car")?;
    let first = format!("/cars/{car}");
    let sheet = http::page(&server.authority, &first)?;
    let mut wanted = vec!["/".to_owned(), first.clone()];
    let mut variants: BTreeMap<String, usize> = BTreeMap::new();
    for link in links(&sheet.body).into_iter().filter(|link| link.starts_with(&first)) {
        let seen = variants.entry(link.split('?').next().unwrap_or(&link).to_owned()).or_default();
        if *seen < VARIANTS && !wanted.contains(&link) {
            *seen += 1;
            wanted.push(link);
        }
    }
    let mut times = Vec::new();
    for path in &wanted {
        let shown = path.replace(&car, "{id}");
        match fetches(&server.authority, path) {
            Ok(Some(seconds)) => times.push((seconds, shown)),
            Ok(None) => {}
            Err(error) => bail!("{shown}: {error:#}"),
        }
    }
    times.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut rows: Vec<Row> = times
        .into_iter()
        .map(|(seconds, path)| Row::time(format!("page `{path}`"), seconds, Some(PAGE_LIMIT_S)))
        .collect();
    match owner_page(server, binary, database, &car) {
        Ok(measured) => rows.extend(measured),
        Err(error) => rows.push(Row::not_measured("the owner's page", "30.0 ms", &error)),
    }
    rows.push(match verifications(binary, database, &car) {
        Ok(seconds) => Row::time("the demo car's record verified (`car verify`)", seconds, None),
        Err(error) => Row::not_measured("the demo car's record verified (`car verify`)", "", &error),
    });
    Ok(rows)
}

/// The median of so many fetches; `None` for what is no page (a picture, a download).
fn fetches(authority: &str, path: &str) -> Result<Option<f64>> {
    let answer = http::page(authority, path)?;
    if !answer.header("content-type").is_some_and(|kind| kind.starts_with("text/html")) {
        return Ok(None);
    }
    let mut times = Vec::new();
    for _ in 0..FETCHES {
        let begun = Instant::now();
        http::page(authority, path)?;
        times.push(begun.elapsed().as_secs_f64());
    }
    Ok(Some(median(times)))
}

/// The owner's page over a fresh link: its time, and what comes over the wire with every picture it shows.
fn owner_page(server: &Server, binary: &Path, database: &Path, car: &str) -> Result<[Row; 2]> {
    let output = Command::new(binary)
        .args(["car", "link", "make", car, "--owner", "Owner", "--by", "Lead"])
        .env("GUIDECOAT_DATABASE", format!("sqlite:{}", database.display()))
        .output()
        .context("cannot start the program")?;
    ensure!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr).trim());
    let text = String::from_utf8(output.stdout)?;
    let place = text.find("/o/").context("no address was printed")?;
    let path = text.get(place..).and_then(|rest| rest.split_whitespace().next()).context("no address was printed")?;
    let page = http::page(&server.authority, path)?;
    let seconds = fetches(&server.authority, path)?.context("the owner's page is no page")?;
    let sheet = http::page(&server.authority, "/ui/guidecoat.css")?;
    let fonts = sheet.body.split("url(").skip(1).filter_map(|rest| rest.split(')').next());
    let fonts = fonts.map(|font| font.trim_matches(['"', '\'']).to_owned());
    let pictures = page.body.split("src=\"").skip(1).filter_map(|rest| rest.split('"').next()).map(str::to_owned);
    let all: BTreeSet<String> = [path.to_owned(), "/ui/guidecoat.css".into(), "/ui/mark.svg".into()]
        .into_iter()
        .chain(fonts)
        .chain(pictures)
        .collect();
    let bytes: Result<Vec<usize>> = all.iter().map(|path| http::weight(&server.authority, path)).collect();
    Ok([
        Row::time("the owner's page `/o/{token}`", seconds, Some(PAGE_LIMIT_S)),
        Row::size("the owner's page with stylesheet, fonts and every picture", bytes?.iter().sum(), OWNER_BYTES),
    ])
}

fn verifications(binary: &Path, database: &Path, car: &str) -> Result<f64> {
    let address = format!("sqlite:{}", database.display());
    let times: Result<Vec<f64>> = (0..VERIFICATIONS)
        .map(|_| timed(Command::new(binary).args(["car", "verify", car]).env("GUIDECOAT_DATABASE", &address)))
        .collect();
    Ok(median(times?))
}

pub(super) fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times.get(times.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Where the page's links lead, in order, within this server and without their fragments.
fn links(html: &str) -> Vec<String> {
    let targets = html.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next());
    targets
        .filter(|target| target.starts_with('/'))
        .map(|target| target.split('#').next().unwrap_or(target).replace("&amp;", "&"))
        .collect()
}

/// The car of a link such as `/cars/0198…/colour`; `/cars/new` is none.
fn car_id(link: &str) -> Option<String> {
    let id = link.strip_prefix("/cars/")?.split(['/', '?']).next()?;
    (id != "new" && !id.is_empty()).then(|| id.to_owned())
}

#[cfg(test)]
mod tests {
    use super::{car_id, links, median};

    #[test]
    fn links_and_cars_are_found() {
        let html = r#"<a href="/cars/new">+</a><a href="/cars/a1/colour?x=1&amp;y=2#z">c</a><a href="https://x">"#;
        assert_eq!(links(html), ["/cars/new", "/cars/a1/colour?x=1&y=2"]);
        assert_eq!(car_id("/cars/new"), None);
        assert_eq!(car_id("/cars/a1/colour?x=1"), Some("a1".into()));
    }

    #[test]
    fn the_middle_of_several() {
        assert!((median(vec![3.0, 1.0, 2.0]) - 2.0).abs() < 1e-12);
    }
}
