//! A car with a question that was asked, a report, and a link to its owner's page.

use axum::Router;
use axum::body::Body;
use axum::http::{Request, header};
use jiff::{SignedDuration, Timestamp};
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::person::Role;
use job::question::{Choice, Hours, Question, RangeSaid, Report};
use job::shop::{Draft, NewLink};
use job::what::{What, Withdrawn};

use super::form::{self, Form};
use super::{Answer, HOST, House, html, router, send};

/// The fields of a form as a page holds them.
pub(crate) type Fields = Vec<(String, String)>;

/// Fields with one of them set in place of whatever it held.
pub(crate) fn with(fields: &Fields, name: &str, value: &str) -> Fields {
    let mut fields: Fields = fields.iter().filter(|(n, _)| n != name).cloned().collect();
    fields.push((name.into(), value.into()));
    fields
}

pub(crate) fn field<'a>(fields: &'a Fields, name: &str) -> &'a str {
    fields.iter().find(|(n, _)| n == name).map_or("", |(_, value)| value)
}

pub(crate) fn as_form(fields: &Fields) -> Form {
    Form::new().pairs(fields.iter().map(|(n, v)| (n.as_str(), v.as_str())))
}

fn choice(key: &str, title: &str, low: f64, likely: f64, high: f64) -> Choice {
    let (means, risks) = ("New metal is let in.".into(), "It may rust beside it.".into());
    Choice {
        key: key.into(),
        title: title.into(),
        means,
        risks,
        hours: Hours { low, likely, high },
        recipe: None,
        card: None,
    }
}

/// A question about the left sill, sent.
pub(crate) fn question(photographs: Vec<EntryId>) -> Question {
    Question {
        zones: vec!["Z03.L".into(), "Z01.L".into()],
        finding: None,
        ask: "How far shall we go inside the left sill?".into(),
        found: "The membrane is rusted through over 310 by 46 mm. We have stopped there until you choose.".into(),
        photographs,
        options: vec![choice("A", "Let in patches", 4.0, 7.0, 12.0), choice("B", "Replace a section", 9.0, 14.0, 22.0)],
        by: "2026-12-02".parse().unwrap(),
        waits: vec!["Closing the left sill".into()],
        serves: Vec::new(),
        sent: true,
    }
}

impl House {
    /// Keeps something through the use case, as the lead.
    pub(crate) async fn put(&self, car: CarId, what: What) -> EntryId {
        self.put_instead(car, what, None).await
    }

    pub(crate) async fn put_instead(&self, car: CarId, what: What, corrects: Option<EntryId>) -> EntryId {
        let (entry, by) = (EntryId::fresh(), self.lead.id);
        let draft = Draft { entry, base: None, by, noted: None, corrects, keep_both: true, what };
        self.shop.keep(car, &draft, Timestamp::now()).await.unwrap();
        entry
    }

    /// A car with a placed photograph, a question about it that was sent, and a report.
    pub(crate) async fn asked_car(&self, title: &str) -> (CarId, EntryId) {
        let car = self.car(title).await;
        assert_eq!(self.keep(car, form::entry("photographed", &self.bench)).await.status, 303);
        let asked = self.ask_and_report(car).await;
        (car, asked)
    }

    /// A question about a car's first photograph, sent, and a report with it.
    pub(crate) async fn ask_and_report(&self, car: CarId) -> EntryId {
        let photo = self.shop.car(car).await.unwrap().photographs().map(|(entry, _)| entry.id).next().unwrap();
        let asked = self.put(car, What::Asked(question(vec![photo]))).await;
        let report = Report {
            from: "2026-11-01".parse().unwrap(),
            to: "2026-11-14".parse().unwrap(),
            says: "The left sill is worse than hoped.".into(),
            done: vec!["Right sill scoped".into()],
            found: vec!["Left membrane holed".into()],
            changed: Vec::new(),
            need: Vec::new(),
            next: Vec::new(),
            photographs: vec![photo],
            range: RangeSaid { p10_h: 690.0, p50_h: 850.0, p80_h: 980.0, p95_h: 1115.0 },
            pdf: self.shop.keep_file(b"%PDF-1.7 a report").await.unwrap(),
        };
        self.put(car, What::Reported(report)).await;
        asked
    }

    /// A car in a shop that asks for passphrases.
    pub(crate) async fn car_as_lead(&self, title: &str) -> CarId {
        let cookie = self.session(&self.lead, Role::Lead, SignedDuration::from_hours(1)).await;
        let answer = self.post_as(&cookie, "/cars/new", form::car(title, &self.lead)).await;
        answer.header("location").trim_start_matches("/cars/").parse().unwrap()
    }

    /// A photograph of that car, so many pixels wide.
    pub(crate) async fn photograph_as_lead(&self, car: CarId, width: u32) {
        let cookie = self.session(&self.lead, Role::Lead, SignedDuration::from_hours(1)).await;
        let photo = Form::new()
            .pairs([
                ("kind", "photographed"),
                ("zone", "Z01.L"),
                ("side", "left"),
                ("stage", "strip"),
                ("caption", "Hole"),
            ])
            .text("entry", EntryId::fresh())
            .text("who", self.bench.id)
            .file("photo", "a.jpg", form::jpeg(width, 200));
        let kept = self.post_as(&cookie, &format!("/cars/{car}/entries"), photo).await;
        assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    }

    /// The same shop behind a program that remembers no wrong attempts.
    pub(crate) fn again(&self) -> Router {
        router(self.shop.clone(), true)
    }

    /// Asks one of several programs over this shop; what is sent is an empty form.
    pub(crate) async fn ask_at(&self, router: &Router, method: &str, path: &str, cookie: &str) -> Answer {
        if method == "POST" {
            return send(router, Form::new().request(path, &[("cookie", cookie)])).await;
        }
        let request = Request::get(path).header(header::HOST, HOST).header(header::COOKIE, cookie);
        send(router, request.body(Body::empty()).unwrap()).await
    }

    pub(crate) async fn take_back(&self, car: CarId, entry: EntryId) {
        self.put(car, What::Withdrawn(Withdrawn { entry, why: "It was asked too early.".into() })).await;
    }

    /// The token of a new link to a car's page.
    pub(crate) async fn token(&self, car: CarId) -> String {
        self.token_at(car, self.owner.id, Timestamp::now()).await
    }

    /// The token of a link that was made then, for a day.
    pub(crate) async fn token_at(&self, car: CarId, owner: PersonId, made: Timestamp) -> String {
        let token = web::token::fresh();
        let new = NewLink { token: Hash::of(token.as_bytes()), owner, by: self.lead.id, days: 1 };
        self.shop.make_link(car, new, made).await.unwrap();
        token
    }

    /// The token of a link whose time is over.
    pub(crate) async fn ended_token(&self, car: CarId) -> String {
        self.token_at(car, self.owner.id, Timestamp::now() - SignedDuration::from_hours(25)).await
    }

    /// The token of a link that was taken back.
    pub(crate) async fn revoked_token(&self, car: CarId) -> String {
        let token = self.token(car).await;
        self.shop.revoke_link(car, Hash::of(token.as_bytes()), Timestamp::now()).await.unwrap();
        token
    }

    /// The form of a question on the owner's page, as it stands.
    pub(crate) async fn owners_form(&self, token: &str, number: usize) -> Fields {
        let page = self.get(&format!("/o/{token}")).await;
        html::filled(&page.text(), &format!("answer-{number}"))
    }

    pub(crate) async fn answer(&self, token: &str, fields: &Fields) -> Answer {
        self.post(&format!("/o/{token}/answer"), as_form(fields)).await
    }

    /// Deletes a kept file behind the program's back.
    pub(crate) async fn delete_file(&self, hash: Hash) {
        let url = format!("sqlite:{}", self.folder.path().join("t.sqlite").display());
        let pool = sqlx::SqlitePool::connect(&url).await.unwrap();
        let gone =
            sqlx::query("DELETE FROM blobs WHERE hash = $1").bind(&hash.bytes()[..]).execute(&pool).await.unwrap();
        assert_eq!(gone.rows_affected(), 1);
        pool.close().await;
    }
}
