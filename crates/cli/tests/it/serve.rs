//! `serve` and `demo`: where the journal and the pages are.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::run::{ask, finish, keep_a_quick_pour, on, run};
use crate::server::{Server, pourwright};

/// The program in a home folder of its own, told nothing.
fn at_home(home: &Path, args: &[&str]) -> Command {
    let mut command = pourwright();
    command
        .args(args)
        .env("HOME", home)
        .env("USERPROFILE", home)
        .env_remove("XDG_DATA_HOME");
    command
}

/// Files of this name in a folder and the folders in it.
fn find(folder: &Path, name: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap().map(Result::unwrap);
    entries
        .flat_map(|entry| match entry.file_type().unwrap().is_dir() {
            true => find(&entry.path(), name),
            false if entry.file_name() == name => vec![entry.path()],
            false => Vec::new(),
        })
        .collect()
}

#[test]
fn an_empty_home_folder_is_enough() {
    let home = tempfile::tempdir().unwrap();
    let server = Server::from(at_home(home.path(), &["serve", "--port", "0"]));
    let page = ask(&server, "GET", "/", "");
    assert!(page.contains("How much do I weigh out?"), "{page}");
    keep_a_quick_pour(&server);
    let [journal] = &find(home.path(), "journal.sqlite")[..] else {
        panic!("no journal in the home folder");
    };
    assert_eq!(on(journal, &["check"]).code, 0);
}

#[test]
fn the_demo_keeps_to_a_journal_of_its_own() {
    let home = tempfile::tempdir().unwrap();
    let server = Server::from(at_home(home.path(), &["demo", "--port", "0"]));
    assert!(ask(&server, "GET", "/", "").contains("Quillfen Wax Works"));
    assert_eq!(find(home.path(), "demo.sqlite").len(), 1);
    assert_eq!(find(home.path(), "journal.sqlite").len(), 0);
    drop(server);
    let again = Server::from(at_home(home.path(), &["demo", "--fresh", "--port", "0"]));
    assert!(ask(&again, "GET", "/", "").contains("Quillfen Wax Works"));
    let journal = &find(home.path(), "demo.sqlite")[0];
    let said = on(journal, &["demo", "--fresh", "--port", "0"]);
    assert_eq!(said.code, 1, "a journal that was named is never cleared");
    assert_eq!(on(journal, &["check"]).code, 0);
}

#[test]
fn a_port_in_use_is_passed_over_unless_it_was_named() {
    let home = tempfile::tempdir().unwrap();
    let first = Server::from(at_home(home.path(), &["serve"]));
    let second = Server::from(at_home(home.path(), &["serve"]));
    assert_ne!(first.home, second.home);
    for server in [&first, &second] {
        assert!(ask(server, "GET", "/", "").starts_with("HTTP/1.1 200 "));
    }
    let port = first.home.rsplit(':').next().unwrap();
    let said = finish(at_home(home.path(), &["serve", "--port", port]), "");
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    let words = format!("could not listen on port {port}; name another with --port");
    assert!(said.err.contains(&words), "{}", said.err);
}

#[test]
fn two_programs_write_one_journal_and_lose_nothing() {
    /// Quick pours that each of them keeps.
    const EACH: usize = 8;
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("workshop.sqlite");
    let servers = [(); 2].map(|()| Server::start("serve", &journal));
    assert_eq!(keep_a_quick_pour(&servers[0]), "/pour/1");
    // Each knows at once what the other wrote.
    assert!(ask(&servers[1], "GET", "/pour/1", "").contains("soy wax"));
    assert_eq!(keep_a_quick_pour(&servers[1]), "/pour/2");
    let mut pours: Vec<String> = std::thread::scope(|scope| {
        let writers = servers.each_ref().map(|server| {
            scope.spawn(move || {
                (0..EACH)
                    .map(|_| keep_a_quick_pour(server))
                    .collect::<Vec<_>>()
            })
        });
        writers
            .into_iter()
            .flat_map(|writer| writer.join().unwrap())
            .collect()
    });
    pours.sort();
    pours.dedup();
    assert_eq!(pours.len(), 2 * EACH, "every pour has a number of its own");
    for server in &servers {
        let last = format!("/pour/{}", 2 + 2 * EACH);
        assert!(ask(server, "GET", &last, "").starts_with("HTTP/1.1 200 "));
    }
    drop(servers);
    assert_eq!(on(&journal, &["check"]).code, 0);
}

#[test]
fn a_killed_program_leaves_what_it_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("workshop.sqlite");
    for n in 1..=3 {
        let server = Server::start("serve", &journal);
        assert_eq!(keep_a_quick_pour(&server), format!("/pour/{n}"));
        // Dropped, it is killed without a word.
    }
    assert_eq!(on(&journal, &["check"]).code, 0);
}

#[test]
fn the_pages_open_under_the_machine_s_other_name() {
    let folder = tempfile::tempdir().unwrap();
    let mut server = Server::start("serve", &folder.path().join("workshop.sqlite"));
    let address = server
        .home
        .strip_prefix("http://localhost:")
        .unwrap()
        .to_owned();
    server.home = format!("http://127.0.0.1:{address}");
    assert!(ask(&server, "GET", "/", "").starts_with("HTTP/1.1 200 "));
}

#[test]
fn what_cannot_be_meant_is_refused() {
    for (args, words) in [
        (&["serve", "--port", "99999"][..], "99999"),
        (&["serve", "--port", "ninety"], "ninety"),
        (&["sreve"], "sreve"),
        (&["serve", "--jurnal", "x"], "--jurnal"),
        (&["import"], "FILE"),
    ] {
        let said = run(args, "");
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{args:?}");
        assert!(said.err.contains(words), "{args:?}: {}", said.err);
    }
    let mut command = pourwright();
    command.arg("serve").env("POURWRIGHT_PORT", "ninety");
    let said = finish(command, "");
    assert_eq!(said.code, 1);
    assert!(
        said.err.contains("POURWRIGHT_PORT is \"ninety\""),
        "{}",
        said.err
    );
}

#[test]
fn settings_come_from_file_environment_and_flags_in_that_order() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("pourwright.json");
    std::fs::write(&file, r#"{"port": 7001, "journal": "from-file.sqlite"}"#).unwrap();
    let told = |args: &[&str], environment: Option<&str>| {
        let mut command = pourwright();
        command.arg("config").arg("--config").arg(&file).args(args);
        if let Some(port) = environment {
            command.env("POURWRIGHT_PORT", port);
        }
        let said = finish(command, "");
        let config: serde_json::Value = serde_json::from_str(&said.out).unwrap();
        (
            config["port"].as_u64().unwrap(),
            config["journal"].as_str().unwrap().to_owned(),
        )
    };
    let from_file = "from-file.sqlite".to_owned();
    assert_eq!(told(&[], None), (7001, from_file.clone()));
    assert_eq!(told(&[], Some("7002")), (7002, from_file.clone()));
    assert_eq!(told(&["--port", "7003"], Some("7002")), (7003, from_file));
    std::fs::write(&file, r#"{"prot": 7001}"#).unwrap();
    let said = run(&["config", "--config", file.to_str().unwrap()], "");
    assert_eq!(said.code, 1, "an unknown key is an error");
    assert!(said.err.contains("prot"), "{}", said.err);
}
