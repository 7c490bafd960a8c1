//! The demo: one invented car, loaded through the use cases into a database of its own, printed, packed, served.

mod load;
mod paint;
mod picture;
mod story;

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use colour::preview::{Panel, Picture, Scene, View};
use job::fortnight;
use job::ids::{CarId, Hash};
use job::paintwork;
use job::paintwork::preview::{self, Subject, Wanted};
use job::person::Role;
use job::shop::{Shop, USUAL_LINK_DAYS};
use serde::Serialize;

use crate::answer::{Answer, row, say};
use crate::car::{self, link};
use crate::file;
use crate::forecast::Range;
use crate::serve::{Door, Served, log, serve};
use crate::shop::{Everywhere, Missing, wait};
use crate::stop::Stop;

use crate::progress::Progress;

/// Load the invented car into a database of its own and serve it.
#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// The folder to write; an earlier demo in it is replaced, anything else is left alone and refused.
    #[arg(long, value_name = "DIR", default_value = "demo-out")]
    out: PathBuf,
    /// End after writing.
    #[arg(long)]
    no_serve: bool,
    #[command(flatten)]
    door: Door,
}

/// The file by which a folder is known as a demo's.
const MARK: &str = "INVENTED.txt";
const MARK_TEXT: &str = "Everything in this folder is invented. It was written by \"guidecoat demo\", which replaces it when it runs again.\n";
/// What the demo writes besides, and takes away when it runs again.
const WRITTEN: [&str; 12] = [
    "shop.sqlite",
    "shop.sqlite-wal",
    "shop.sqlite-shm",
    "dossier.pdf",
    "report.pdf",
    "range.json",
    "toners.json",
    "recipe.json",
    PREVIEWS[0],
    PREVIEWS[1],
    PREVIEWS[2],
    "car.zip",
];
/// Pictures of the donor, of what is wanted of it, and of the recipe for that, on a panel in the sun.
const PREVIEWS: [&str; 3] = ["preview-donor.png", "preview-wish.png", "preview-recipe.png"];
/// How they are seen: turned so far that one side still shows the face and the other the flop.
const SEEN: View = View { turn_deg: 20.0, tilt_deg: 0.0, width: 960, height: 540, mark: false };

impl Demo {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        log();
        let zone = everywhere.zone()?;
        let listen = self.door.listen;
        if !self.no_serve && !listen.ip().is_loopback() {
            let why = "can be reached by others, and nobody in the demo has a passphrase: listen on 127.0.0.1";
            return Err(Stop::input(format!("--listen: {listen} {why}")));
        }
        wait(async {
            clear(&self.out)?;
            let place = |name: &str| self.out.join(name);
            let database = format!("sqlite:{}", place("shop.sqlite").display());
            let shop = Arc::new(everywhere.shop_at(&database, Missing::Make).await?);
            let story = story::Story::told()?;
            let load::Loaded { car: loaded, recipes } = load::load(&shop, &story).await?;
            let progress = Progress::begin("printing the dossier", 1);
            car::dossier(&shop, &zone, loaded, &place("dossier.pdf"), story.printed).await?;
            progress.step();
            drop(progress);
            let record = shop.car(loaded).await?;
            file::write(&place("report.pdf"), &last_report(&shop, &record).await?)?;
            let range = serde_json::to_vec_pretty(&Range::of(&shop, &record, None).await?).map_err(Stop::failed)?;
            file::write(&place("range.json"), &range)?;
            file::write(&place("toners.json"), &toners(&shop, &record).await?)?;
            let recipes = recipes.ok_or_else(|| Stop::failed("the demo's recipe is missing"))?;
            file::write(&place("recipe.json"), &serde_json::to_vec_pretty(&recipes).map_err(Stop::failed)?)?;
            for (name, png) in PREVIEWS.into_iter().zip(previews(&shop, &record).await?) {
                file::write(&place(name), &png)?;
            }
            let progress = Progress::begin("packing the car", 1);
            let packed = car::export(&shop, loaded, &place("car.zip")).await?;
            progress.step();
            drop(progress);
            let answer = Written {
                car: loaded,
                events: packed.events,
                head: packed.head,
                folder: file::name(&self.out),
                database,
                dossier: file::name(&place("dossier.pdf")),
                report: file::name(&place("report.pdf")),
                range: file::name(&place("range.json")),
                toners: file::name(&place("toners.json")),
                recipe: file::name(&place("recipe.json")),
                previews: PREVIEWS.map(|name| file::name(&place(name))),
                export: file::name(&place("car.zip")),
            };
            say(&answer, everywhere.json)?;
            if self.no_serve {
                return Ok(());
            }
            let news = Some(owners_token(&shop, loaded).await?);
            serve(shop, Served { listen, hosts: Vec::new(), public_url: None, zone, news }).await
        })
    }
}

/// The printed page of the last report, as it was kept.
async fn last_report(shop: &Shop, car: &job::car::Car) -> Result<Arc<[u8]>, Stop> {
    let missing = || Stop::failed("the demo's report is missing");
    let (_, report) = fortnight::last(car).ok_or_else(missing)?;
    shop.blob(report.pdf).await?.ok_or_else(missing)
}

/// The toner file, as it was kept.
async fn toners(shop: &Shop, car: &job::car::Car) -> Result<Arc<[u8]>, Stop> {
    let missing = || Stop::failed("the demo's toners are missing");
    let (_, shelf) = paintwork::shelf_in_use(car).ok_or_else(missing)?;
    shop.blob(shelf.file).await?.ok_or_else(missing)
}

/// The first brief's donor, the brief, and the first recipe for it, as [`PREVIEWS`] names them.
async fn previews(shop: &Shop, car: &job::car::Car) -> Result<[Vec<u8>; 3], Stop> {
    let missing = || Stop::failed("the demo's brief is missing");
    let (brief, briefed) = paintwork::briefs(car).into_iter().min_by_key(|(entry, _)| entry.seq).ok_or_else(missing)?;
    let (donor, _) = paintwork::target_of(car, briefed.donor).ok_or_else(missing)?;
    let recipes = paintwork::recipes_of_brief(car, brief.id);
    let (recipe, _) = recipes.into_iter().min_by_key(|(entry, _)| entry.seq).ok_or_else(missing)?;
    let subjects = [Subject::Measured(donor.seq), Subject::Brief(brief.seq), Subject::Recipe(recipe.seq)];
    let mut drawn: [Vec<u8>; 3] = Default::default();
    for (subject, png) in subjects.into_iter().zip(&mut drawn) {
        let painted = shop.painted(car, &Wanted { subject, over: None, less: false }, Scene::Sun).await?;
        let picture = Picture::draw(Panel::usual(), &painted.sphere, None, SEEN);
        *png = preview::png(&picture).map_err(Stop::failed)?;
    }
    Ok(drawn)
}

/// The token of a link for the demo's owner. It is drawn anew each time: the record does not hold it.
async fn owners_token(shop: &Shop, car: CarId) -> Result<String, Stop> {
    let people = shop.people().await?;
    let who =
        |role| people.iter().find(|p| p.role == role).map(|p| p.id).ok_or_else(|| Stop::failed("nobody is there"));
    let (token, _) = link::make(shop, car, who(Role::Owner)?, who(Role::Lead)?, USUAL_LINK_DAYS).await?;
    Ok(token)
}

/// Makes the folder ready: new, empty, or an earlier demo's, whose files are taken away.
fn clear(folder: &Path) -> Result<(), Stop> {
    let named = file::name(folder);
    let refuse = |e: io::Error| Stop::failed(format!("{named}: cannot be written ({e})"));
    if folder.exists() && !folder.is_dir() {
        return Err(Stop::input(format!("{named}: this is a file; --out names a folder")));
    }
    fs::create_dir_all(folder).map_err(refuse)?;
    let empty = fs::read_dir(folder).map_err(refuse)?.next().is_none();
    if !empty && !folder.join(MARK).is_file() {
        return Err(Stop::input(format!(
            "{named}: this folder holds something that is not a demo's; name another with --out, or an empty one"
        )));
    }
    for name in WRITTEN {
        match fs::remove_file(folder.join(name)) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(refuse(e)),
            _ => {}
        }
    }
    fs::write(folder.join(MARK), MARK_TEXT).map_err(refuse)
}

#[derive(Debug, Serialize)]
struct Written {
    car: CarId,
    events: u64,
    head: Hash,
    folder: String,
    database: String,
    dossier: String,
    report: String,
    range: String,
    toners: String,
    recipe: String,
    previews: [String; 3],
    export: String,
}

impl Answer for Written {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let rows = [
            row!["car", self.car],
            row!["entries", self.events],
            row!["head of the record", self.head],
            row!["database", self.database],
            row!["dossier", self.dossier],
            row!["fortnight report", self.report],
            row!["range", self.range],
            row!["toners", self.toners],
            row!["recipes", self.recipe],
            row!["pictures, no proof", self.previews.join(", ")],
            row!["car as a ZIP", self.export],
        ];
        for row in rows {
            writeln!(out, "{:<20}{}", row[0], row[1])?;
        }
        Ok(())
    }
}
