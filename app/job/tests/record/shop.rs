//! Reading cars: folded once, read on from there, and read afresh when the record was exchanged.

use std::sync::Arc;

use job::car::ZoneState;
use job::ids::{CarId, Hash};
use job::shop::ShopError;
use job::what::Severity;

use crate::support::{Desk, Record, at, bad, clear, details, film, shop_over};

#[tokio::test]
async fn a_car_read_again_is_the_one_at_hand() {
    let desk = Desk::open().await;
    let (first, again) = (desk.shop.car(desk.car).await.unwrap(), desk.shop.car(desk.car).await.unwrap());
    assert!(Arc::ptr_eq(&first, &again));
    // Another process writes: this one sees it on the next look.
    shop_over(&desk.store).keep(desk.car, &desk.draft(clear("Z01.L")), at(1)).await.unwrap();
    assert_eq!(desk.shop.car(desk.car).await.unwrap().state("Z01.L"), ZoneState::Clear);
    assert_eq!(first.state("Z01.L"), ZoneState::NotLooked);
}

/// More events than are asked of the store at once.
#[tokio::test]
async fn invariant_a_long_record_is_read_whole() {
    let desk = Desk::open().await;
    let mut record = Record::new();
    for i in 0..2_499_u32 {
        record.add(film("Z01.L", f64::from(i)));
    }
    desk.store.replace(desk.car, &record.events);
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!((car.count, car.head, car.film_um("Z01.L").len()), (2_500, record.head(), 2_499));
    let verdict = desk.shop.verify(desk.car, Some(record.head())).await.unwrap();
    assert_eq!((verdict.events, verdict.broken), (2_500, None));
}

#[tokio::test]
async fn a_car_whose_record_was_restored_over_is_read_afresh() {
    let desk = Desk::open().await;
    desk.keep(clear("Z01.L")).await;
    let opened = desk.store.record(desk.car)[..1].to_vec();
    // Shorter, as long, and longer than the one at hand.
    for others in 0..4 {
        let mut record = Record { car: desk.car, events: opened.clone() };
        for _ in 0..others {
            record.add(bad("Z01.L", Severity::Holed));
        }
        desk.shop.car(desk.car).await.unwrap();
        desk.store.replace(desk.car, &record.events);
        let car = desk.shop.car(desk.car).await.unwrap();
        let state = if others == 0 { ZoneState::NotLooked } else { ZoneState::Bad(Severity::Holed) };
        assert_eq!((car.count, car.head, car.state("Z01.L")), (others + 1, record.head(), state));
        // The next round starts from a car at hand with a history of its own.
        let mut own = Record { car: desk.car, events: opened.clone() };
        own.add(clear("Z01.L"));
        desk.store.replace(desk.car, &own.events);
    }
}

#[tokio::test]
async fn a_broken_car_does_not_hide_the_others() {
    let desk = Desk::open().await;
    desk.keep(clear("Z01.L")).await;
    let second = desk.shop.open_car(details("Car 2"), desk.lead, at(1)).await.unwrap();
    let mut broken = desk.store.record(desk.car);
    broken[1].body = broken[1].body.replace("clear", "claer");
    desk.store.replace(desk.car, &broken);
    let shop = shop_over(&desk.store);
    let cars = shop.cars().await.unwrap();
    assert_eq!(cars.iter().map(|(id, _)| *id).collect::<Vec<_>>(), [desk.car, second]);
    assert!(matches!(&cars[0].1, Err(ShopError::Broken(b)) if b.at == 2));
    assert_eq!(cars[1].1.as_ref().unwrap().details.title, "Car 2");
}

#[tokio::test]
async fn more_cars_than_are_kept_at_hand_are_all_read() {
    let desk = Desk::open().await;
    let mut ids = vec![desk.car];
    for i in 0..70 {
        ids.push(desk.shop.open_car(details(&format!("Car {i}")), desk.lead, at(i)).await.unwrap());
    }
    for _ in 0..2 {
        let cars = desk.shop.cars().await.unwrap();
        assert_eq!(cars.len(), ids.len());
        assert!(cars.iter().all(|(id, car)| car.as_ref().is_ok_and(|car| car.id == *id)));
    }
}

#[tokio::test]
async fn one_entry_and_one_file_are_handed_out_as_they_are_stored() {
    let desk = Desk::open().await;
    desk.photograph("Z01.L", b"picture").await;
    let stored = desk.shop.stored(desk.car, 2).await.unwrap().unwrap();
    assert_eq!(stored, desk.store.record(desk.car)[1]);
    assert!(desk.shop.stored(desk.car, 3).await.unwrap().is_none());
    assert!(desk.shop.blob(Hash::of(b"another")).await.unwrap().is_none());
    assert!(matches!(desk.shop.verify(CarId::fresh(), None).await, Err(ShopError::NoSuchCar(_))));
}
