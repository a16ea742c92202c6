//! Files as released versions laid them out. They open for ever.

use std::fs;

use journal::jsonl;
use journal_sqlite::OpenOptions;

use crate::helper::{fill, open_with, reading, workshop};

/// Layout 1, with the records of the exported journal of format version 1.
pub(crate) const LAYOUT_1: &[u8] = include_bytes!("../specimens/layout-1.journal");

/// The same records, exported.
const EXPORT_1: &str = include_str!("../../../journal/tests/specimens/v1.jsonl");

#[test]
fn a_file_of_layout_1_opens_and_exports_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    fs::write(&path, LAYOUT_1).unwrap();
    for options in [reading(), OpenOptions::default()] {
        let store = open_with(&path, &options);
        let report = store.check().unwrap();
        assert!(report.is_sound(), "{report:?}");
        let mut exported = Vec::new();
        jsonl::export(&store, &workshop(), &mut exported).unwrap();
        assert_eq!(String::from_utf8(exported).unwrap(), EXPORT_1);
    }
    fill(&open_with(&path, &OpenOptions::default()), 1);
}
