//! The invented workshop that a first visit sees.

use std::sync::Arc;

use app::{App, FixedClock};
use jiff::civil::{Date, date};
use journal::{MemoryStore, Store, WorkshopId};
use workshop::{Errand, LotVerdict, Stage, errands};

fn demo(today: Date) -> (App, Arc<MemoryStore>) {
    let id = WorkshopId::try_new("demo").unwrap();
    let store = Arc::new(MemoryStore::new());
    app::demo::fill(store.clone(), id.clone(), today).unwrap();
    let app = App::open(store.clone(), Arc::new(FixedClock(today)), id).unwrap();
    (app, store)
}

#[test]
fn it_looks_lived_in_on_any_day() {
    for today in [date(2026, 11, 25), date(2028, 2, 29), date(2027, 1, 1)] {
        let (app, _) = demo(today);
        app.look(|workshop| {
            let facts = workshop.facts();
            assert!((400..=500).contains(&facts), "{facts} facts");
            assert_eq!(workshop.last_day(), Some(today));
            let stages: Vec<_> = workshop.open_pours().map(workshop::Pour::stage).collect();
            assert_eq!(stages, [Stage::Weighing]);
            let verdicts: Vec<_> = workshop
                .pours()
                .filter_map(|pour| workshop.verdict(pour, today))
                .collect();
            let any = |wanted: fn(&LotVerdict) -> bool| verdicts.iter().any(wanted);
            assert!(any(|verdict| matches!(verdict, LotVerdict::Hold(_))));
            assert!(any(|verdict| matches!(verdict, LotVerdict::Curing(_))));
            assert!(any(|verdict| matches!(verdict, LotVerdict::Ready(_))));
            // A market day that left something, with the tin nearly right, and
            // one to come.
            let mut days = workshop.trade().market_days();
            let (held, to_come) = (days.next().unwrap(), days.next().unwrap());
            let account = workshop::day_account(workshop, held).unwrap();
            assert!(account.left.minor() > 0 && account.no_cost == 0);
            assert!(account.tin.unwrap().difference.minor().abs() <= 100);
            assert!(to_come.on > today && to_come.n_taken() > 0);
            assert_eq!(workshop.goods().gaps().count(), 0);
            // Every gram used was received first.
            assert!(
                !errands(workshop, today)
                    .iter()
                    .any(|errand| matches!(errand, Errand::Explain(_) | Errand::NoPrice(_)))
            );
        })
        .unwrap();
    }
}

#[test]
fn the_same_day_always_brings_the_same_demo() {
    let today = date(2026, 11, 25);
    let ((one, _), (two, _)) = (demo(today), demo(today));
    let workshop = |app: &App| app.look(Clone::clone).unwrap();
    assert_eq!(workshop(&one), workshop(&two));
}

#[test]
fn a_journal_with_anything_in_it_is_left_alone() {
    let today = date(2026, 11, 25);
    let (_, store) = demo(today);
    let id = WorkshopId::try_new("demo").unwrap();
    let before = store.head(&id).unwrap();
    app::demo::fill(store.clone(), id.clone(), date(2027, 5, 1)).unwrap();
    assert_eq!(store.head(&id).unwrap(), before);
}
