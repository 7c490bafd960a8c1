//! Work in the background: watched, stopped, lost when the program starts anew, and never more than so much.

use axum::body::Body;
use axum::http::{Request, header};

use crate::support::form::Form;
use crate::support::{HOST, House, html, paint, send};

fn lab_form() -> Form {
    paint::lab()
        .into_iter()
        .fold(Form::new().text("do", "learn"), |form, (field, text)| form.file(field, "x.csv", text))
}

#[tokio::test]
async fn one_piece_of_work_runs_for_a_car_and_can_be_stopped() {
    let house = House::open().await;
    let car = house.car("Busy").await;
    let page = format!("/cars/{car}/colour/toners");
    let work = house.begin(&page, lab_form()).await;
    let running = house.get(&work).await;
    if running.text().contains("http-equiv=\"refresh\"") {
        running.says(200, &["Learning the toners", "Stop, and show the best so far", "Look again"]);
        assert_eq!(html::faults(&running.text()), Vec::<String>::new());
        house.post(&page, lab_form()).await.says(422, &["still under way", "see how far it is"]);
    }
    // Another car need not wait for this one.
    let other = house.car("Idle").await;
    let others = house.begin(&format!("/cars/{other}/colour/toners"), lab_form()).await;
    let stopped = house.post(&format!("{work}/stop"), Form::new()).await;
    assert_eq!((stopped.status.as_u16(), stopped.header("location")), (303, work.as_str()));
    house.done(&work).await.says(200, &["Not kept yet", "4 toners learned from 16 panels"]);
    house.done(&others).await;
    // Stopping what is done changes nothing.
    assert_eq!(house.post(&format!("{work}/stop"), Form::new()).await.status, 303);
    house.done(&work).await.says(200, &["Not kept yet"]);
}

#[tokio::test]
async fn work_is_forgotten_by_a_program_that_started_anew_and_the_record_is_not() {
    let house = House::open().await;
    let car = house.painted_car("Restarted").await;
    let work = house.begin(&format!("/cars/{car}/colour/recipes"), Form::new().text("target", 3)).await;
    house.done(&work).await;
    let anew = house.restarted().await;
    let get = |path: &str| Request::get(path).header(header::HOST, HOST).body(Body::empty()).unwrap();
    let answer = send(&anew, get(&work)).await;
    answer.says(404, &["not here any more", "started anew", "Look for recipes again"]);
    for deed in ["stop", "keep"] {
        let answer = send(&anew, Form::new().request(&format!("{work}/{deed}"), &[])).await;
        answer.says(404, &["not here any more"]);
    }
    send(&anew, get(&format!("/cars/{car}/colour/toners"))).await.says(200, &["Test toners"]);
}

#[tokio::test]
async fn only_the_latest_pieces_of_work_are_remembered() {
    let house = House::open().await;
    let car = house.painted_car("Remembers").await;
    let page = format!("/cars/{car}/colour/toners");
    let mut works = Vec::new();
    for _ in 0..9 {
        let form = Form::new().text("do", "file").file("toner_file", "t.json", paint::toner_file());
        let work = house.begin(&page, form).await;
        house.done(&work).await;
        works.push(work);
    }
    house.get(&works[0]).await.says(404, &["not here any more"]);
    for work in &works[1..] {
        house.get(work).await.says(200, &["Not kept yet"]);
    }
}
