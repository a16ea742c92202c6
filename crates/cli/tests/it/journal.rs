//! `check`, `export`, `import` and `backup`.

use std::fs;
use std::path::{Path, PathBuf};

use crate::run::{ask, keep_a_quick_pour, on};
use crate::server::Server;

/// A folder with a journal of one quick pour, and the journal's export.
struct Kept {
    folder: tempfile::TempDir,
    journal: PathBuf,
    lines: String,
}

impl Kept {
    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}

#[track_caller]
fn kept() -> Kept {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("workshop.sqlite");
    let server = Server::start("serve", &journal);
    keep_a_quick_pour(&server);
    drop(server);
    let said = on(&journal, &["export"]);
    assert_eq!(said.code, 0, "{}", said.err);
    Kept {
        folder,
        journal,
        lines: said.out,
    }
}

#[track_caller]
fn import(journal: &Path, lines: &str) -> crate::run::Said {
    let file = journal.with_extension("jsonl");
    fs::write(&file, lines).unwrap();
    on(journal, &["import", file.to_str().unwrap()])
}

#[test]
fn what_is_exported_is_imported_as_it_was() {
    let kept = kept();
    let records = kept.lines.lines().count() - 2;
    assert!(
        records >= 6,
        "settings, supplies, formula, mould, pour: {}",
        kept.lines
    );
    let copy = kept.at("copy.sqlite");
    let said = import(&copy, &kept.lines);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(
        said.err.contains(&format!("Imported {records} records")),
        "{}",
        said.err
    );
    assert_eq!(on(&copy, &["export"]).out, kept.lines);

    let file = kept.at("whole.jsonl");
    assert_eq!(
        on(&copy, &["export", "--output", file.to_str().unwrap()]).code,
        0
    );
    assert_eq!(fs::read_to_string(&file).unwrap(), kept.lines);
    let again = on(&copy, &["export", "--output", file.to_str().unwrap()]);
    assert_eq!(again.code, 1, "an export replaces nothing");

    let server = Server::start("serve", &copy);
    let page = ask(&server, "GET", "/pour/1", "");
    assert!(page.contains("soy wax") && page.contains("16.7"), "{page}");
}

#[test]
fn a_broken_chain_is_refused_with_its_line() {
    let kept = kept();
    let at = kept
        .lines
        .lines()
        .position(|line| line.contains("\"12 % of wax\""));
    let line = at.expect("the formula is in a line of its own") + 1;
    let broken = kept.lines.replacen("12 % of wax", "13 % of wax", 1);
    let copy = kept.at("copy.sqlite");
    let said = import(&copy, &broken);
    assert_eq!(said.code, 1);
    assert!(said.err.contains(&format!("line {line}: ")), "{}", said.err);
    // Nothing of it was taken in: the sound one still goes in.
    let said = import(&copy, &kept.lines);
    assert_eq!(said.code, 0, "{}", said.err);
}

#[test]
fn a_line_too_few_or_out_of_place_is_refused() {
    let kept = kept();
    let lines: Vec<_> = kept.lines.lines().collect();
    let refused = |name: &str, lines: &[&str], line: usize| {
        let said = import(&kept.at(name), &(lines.join("\n") + "\n"));
        assert_eq!(said.code, 1, "{name}");
        assert!(
            said.err.contains(&format!("line {line}: ")),
            "{name}: {}",
            said.err
        );
    };
    refused("cut", &lines[..lines.len() - 1], lines.len());
    refused("headless", &lines[1..], 1);
    let mut swapped = lines.clone();
    swapped.swap(2, 3);
    refused("swapped", &swapped, 3);
    let mut without = lines.clone();
    without.remove(2);
    refused("without", &without, 3);
    refused("prose", &["Dear diary,"], 1);
}

#[test]
fn a_sound_journal_is_said_to_be_sound() {
    let kept = kept();
    let said = on(&kept.journal, &["check"]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    let records = kept.lines.lines().count() - 2;
    assert_eq!(
        said.out,
        format!("workshop: {records} records, every one as it was written\n")
    );
}

#[test]
fn a_tampered_journal_is_found_out() {
    let kept = kept();
    let copy = kept.at("copy.sqlite");
    assert_eq!(import(&copy, &kept.lines).code, 0);
    // One digit of the load, behind the program's back.
    let mut bytes = fs::read(&copy).unwrap();
    let places: Vec<_> = bytes
        .windows(11)
        .enumerate()
        .filter(|(_, window)| *window == b"12 % of wax")
        .map(|(at, _)| at)
        .collect();
    assert!(!places.is_empty(), "the load stands in the file");
    for at in places {
        bytes[at + 1] = b'3';
    }
    fs::write(&copy, bytes).unwrap();
    let said = on(&copy, &["check"]);
    assert_eq!(said.code, 1);
    assert!(said.out.contains("sound up to"), "{}{}", said.out, said.err);
    for command in [&["export"][..], &["serve", "--port", "0"]] {
        let said = on(&copy, command);
        assert_eq!(said.code, 1, "{command:?}");
        assert!(
            said.err.starts_with("pourwright: could not "),
            "{}",
            said.err
        );
    }
}

#[test]
fn what_is_no_journal_is_said_to_be_none() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("diary"), "Dear diary, today I melted wax.").unwrap();
    fs::create_dir(at("folder")).unwrap();
    let says = |name: &str, command: &[&str], words: &str| {
        let said = on(&at(name), command);
        assert_eq!(
            (said.code, said.out.as_str()),
            (1, ""),
            "{name}, {command:?}"
        );
        assert!(
            said.err.contains(words),
            "{name}, {command:?}: {}",
            said.err
        );
    };
    for command in [
        &["check"][..],
        &["export"],
        &["backup", "copy"],
        &["serve", "--port", "0"],
    ] {
        says("diary", command, "is not a journal; choose another file");
        says("folder", command, "is not a file");
    }
    assert_eq!(
        fs::read_to_string(at("diary")).unwrap(),
        "Dear diary, today I melted wax."
    );
    for command in [&["check"][..], &["export"], &["backup", "copy"]] {
        says("nothing", command, "there is no journal at");
    }
    assert!(!at("nothing").exists(), "looking makes no journal");
}

#[test]
fn a_backup_is_taken_while_the_program_serves() {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("workshop.sqlite");
    let server = Server::start("serve", &journal);
    keep_a_quick_pour(&server);
    let copy = folder.path().join("copy.sqlite");
    let said = on(&journal, &["backup", copy.to_str().unwrap()]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.err.contains("bytes), checked."), "{}", said.err);
    // The program goes on, and the copy stays as it was.
    assert_eq!(keep_a_quick_pour(&server), "/pour/2");
    assert_eq!(on(&copy, &["check"]).code, 0);
    let (before, after) = (on(&copy, &["export"]).out, on(&journal, &["export"]).out);
    assert!(before.lines().count() < after.lines().count());
    let again = on(&journal, &["backup", copy.to_str().unwrap()]);
    assert_eq!(again.code, 1, "a backup replaces nothing");
}

#[test]
fn what_only_looks_makes_no_folder() {
    let home = tempfile::tempdir().unwrap();
    let copy = home.path().join("copy.sqlite");
    for args in [
        &["check"][..],
        &["export"],
        &["backup", copy.to_str().unwrap()],
    ] {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_pourwright"));
        command
            .args(args)
            .env_remove("POURWRIGHT_JOURNAL")
            .env("HOME", home.path())
            .env("XDG_DATA_HOME", home.path().join("data"));
        let said = crate::run::finish(command, "");
        assert_eq!(said.code, 1, "{args:?}");
        assert!(said.err.contains("there is no journal at"), "{}", said.err);
        let left = fs::read_dir(home.path()).unwrap().count();
        assert_eq!(left, 0, "{args:?} made something");
    }
}

/// The file and its folder may be read and not written, not even by root.
#[cfg(target_os = "linux")]
#[test]
fn a_journal_that_may_only_be_read_is_read_and_not_served() {
    use std::process::Command;

    let kept = kept();
    let copy = kept.at("copy.sqlite");
    assert_eq!(import(&copy, &kept.lines).code, 0);
    let allowed = Command::new("unshare").args(["-rm", "true"]).output();
    if !allowed.is_ok_and(|output| output.status.success()) {
        println!("left out: this system does not allow mounts of our own");
        return;
    }
    let read_only = |args: &str| {
        let run = format!(
            "mount --bind \"$1\" \"$1\" && mount -o remount,bind,ro \"$1\" && exec \"$0\" {args} --journal \"$2\""
        );
        let mut command = Command::new("unshare");
        command
            .args(["-rm", "sh", "-ec", &run])
            .arg(env!("CARGO_BIN_EXE_pourwright"))
            .arg(kept.folder.path())
            .arg(&copy);
        crate::run::finish(command, "")
    };
    let said = read_only("check");
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(read_only("export").out, kept.lines);
    let backup = tempfile::tempdir().unwrap();
    let to = backup.path().join("copy.sqlite");
    let said = read_only(&format!("backup {}", to.display()));
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(on(&to, &["export"]).out, kept.lines);
    let said = read_only("serve --port 0");
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    assert!(
        said.err.contains("may only be read; allow writing"),
        "{}",
        said.err
    );
}
