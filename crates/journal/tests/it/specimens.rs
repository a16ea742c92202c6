//! Journals as released versions wrote them. They load for ever.

use std::ops::ControlFlow;

use journal::{Head, MemoryStore, Position, Store, WorkshopId, jsonl};

/// The hashes in this file were computed by a script of its own, from the table
/// in the documentation of `Record::compute_hash`, with the SHA-256 of Python's
/// `hashlib` and not with this crate. So the file also checks the framing from
/// outside.
const V1: &str = include_str!("../specimens/v1.jsonl");

#[test]
fn a_journal_of_format_version_1_loads_and_exports_as_it_was() {
    let store = MemoryStore::new();
    let (workshop, head) = jsonl::import(&store, &mut V1.as_bytes()).unwrap();
    assert_eq!(workshop, WorkshopId::try_new("quillfen").unwrap());
    assert_eq!(head.position, Position(6));
    assert_eq!(
        head.hash.unwrap().to_string(),
        "30821ce7363ac777a05d09774f81c3a51b2dcc15315a02a3542d1a62286d4dbd"
    );

    let mut said = Vec::new();
    let visit = &mut |record: journal::Record| {
        said.push(format!(
            "{} {} {} {} {:?} {} {} {}",
            record.position,
            record.recorded,
            record.recorded.as_microsecond(),
            record.day,
            record.who,
            record.name,
            record.version,
            record.payload
        ));
        ControlFlow::Continue(())
    };
    store.read(&workshop, Position::START, visit).unwrap();
    assert_eq!(
        said[2..],
        [
            r#"3 2026-06-02T16:05:44.123456Z 1780416344123456 2026-06-02 "Otto Räbig" Poured 1 {"poured":"18.7 oz","filled":11,"left":"0 oz","note":"Peat \u0026 Plum \ud83d\udd6f, first pour"}"#,
            r#"4 2026-06-02T16:05:44.123456Z 1780416344123456 2026-06-02 "Otto Räbig" UnitWeighed 1 {"weights":["1.5 oz","1.6 oz"]}"#,
            r#"5 2026-06-09T07:00:00.000001Z 1780988400000001 2026-06-08 "" PourCorrected 2 {"poured": "18.70 oz", "left": null}"#,
            r#"6 1969-12-31T23:59:59.999999Z -1 2024-02-29 "帳場" Counted 65535 [1.50,-0,{"é":"雨の屋根裏"}]"#,
        ]
    );

    let mut again = Vec::new();
    let exported: Head = jsonl::export(&store, &workshop, &mut again).unwrap();
    assert_eq!(exported, head);
    assert_eq!(String::from_utf8(again).unwrap(), V1);
}
