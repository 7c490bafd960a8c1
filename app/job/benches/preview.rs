//! A paint on the turning panel: its table, its sphere in a light, and the PNG. `cargo bench -p job --bench preview`.

use job::colour::preview::{Appearance, Panel, Picture, Scene, Sphere, View};
use job::colour::{Mix, Part, Shelf};
use job::paintwork::preview::png;

#[path = "../../../engines/colour/tests/synthetic/mod.rs"]
mod synthetic;

const VIEW: View = View { turn_deg: 20.0, tilt_deg: 0.0, width: 960, height: 540, mark: false };

fn main() {
    divan::main();
}

/// Six toners, two of them flakes, over a primer.
fn paint() -> (Shelf, Mix) {
    let shelf = synthetic::shelf(40);
    let parts = [
        ("pearl 3", 0.12),
        ("aluminium 4", 0.06),
        ("solid 4", 0.03),
        ("earth 2", 0.02),
        ("black", 0.01),
        ("white", 0.01),
    ];
    let part = |(name, fraction): (&str, f64)| Part { toner: shelf.toner(name).unwrap_or(0), fraction };
    let mix = Mix { parts: parts.into_iter().map(part).collect(), film_um: 22.0, substrate: 2 };
    (shelf, mix)
}

/// Over all directions of light and view.
#[divan::bench]
fn appearance_of_6_toners(bencher: divan::Bencher) {
    let (shelf, mix) = paint();
    bencher.bench_local(|| Appearance::of_mix(&shelf, divan::black_box(&mix)));
}

/// In one light, the scene itself being worked out before.
#[divan::bench(args = ["sun", "overcast", "lamp", "tube"])]
fn sphere(bencher: divan::Bencher, light: &str) {
    let Ok(scene) = light.parse::<Scene>() else { return };
    let (shelf, mix) = paint();
    let appearance = Appearance::of_mix(&shelf, &mix);
    Sphere::new(&appearance, scene);
    bencher.bench_local(|| Sphere::new(divan::black_box(&appearance), scene));
}

/// From the mix to the bytes of the file, 960 x 540, under sun and sky.
#[divan::bench]
fn png_from_the_mix(bencher: divan::Bencher) {
    let (shelf, mix) = paint();
    Sphere::new(&Appearance::diffuser(), Scene::Sun);
    bencher.bench_local(|| {
        let sphere = Sphere::new(&Appearance::of_mix(&shelf, divan::black_box(&mix)), Scene::Sun);
        png(&Picture::draw(Panel::usual(), &sphere, None, VIEW))
    });
}

/// The same, the paint being at hand: what turning the panel costs where scripts are off.
#[divan::bench]
fn png_turned(bencher: divan::Bencher) {
    let (shelf, mix) = paint();
    let sphere = Sphere::new(&Appearance::of_mix(&shelf, &mix), Scene::Sun);
    bencher.bench_local(|| png(&Picture::draw(Panel::usual(), divan::black_box(&sphere), None, VIEW)));
}
