//! Two programs that write one journal at the same moment.

use std::ops::ControlFlow;
use std::sync::Arc;
use std::thread;

use app::forms::{self, Filled};
use app::{ActError, App, FixedClock};
use jiff::civil::date;
use journal::{Head, MemoryStore, Store, WorkshopId, read_verified};
use workshop::Workshop;

/// Supplies that each of four threads enters.
const EACH: usize = 25;

fn id() -> WorkshopId {
    WorkshopId::try_new("test").unwrap()
}

#[test]
fn nothing_is_lost_and_no_place_is_left_out() {
    let store = Arc::new(MemoryStore::new());
    let open = || {
        let clock = Arc::new(FixedClock(date(2026, 10, 4)));
        App::open(store.clone(), clock, id()).unwrap()
    };
    let apps = [open(), open()];
    thread::scope(|scope| {
        for worker in 0..4 {
            let app = &apps[worker % 2];
            scope.spawn(move || {
                for nth in 0..EACH {
                    let name = format!("wax {worker}/{nth}");
                    let supply = Filled::of([("kind", "wax"), ("name", &name)]);
                    loop {
                        match forms::define_supply(app, "test", &supply) {
                            Ok(_) => break,
                            // Told to look again, so it does.
                            Err(ActError::Crowded) => {}
                            Err(error) => panic!("{error}"),
                        }
                    }
                }
            });
        }
    });
    let mut n = 0;
    let end = read_verified(&*store, &id(), Head::EMPTY, |record| {
        n += 1;
        assert_eq!(record.position.0, n);
        ControlFlow::Continue(())
    });
    assert_eq!(end.unwrap().position.0, 4 * EACH as u64);
    let [one, other] = apps.map(|app| app.look(Workshop::clone).unwrap());
    assert_eq!(one, other);
    // Each supply got an identifier of its own.
    let last = one.supplies().last().unwrap().id.0;
    assert_eq!(
        (one.supplies().count(), last as usize),
        (4 * EACH, 4 * EACH)
    );
    assert_eq!(store.head(&id()).unwrap().position.0, one.facts());
}
