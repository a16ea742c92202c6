//! The command lines of the README, run as they are written there.

use std::fs;
use std::path::{Path, PathBuf};

use crate::run::{ask, finish, keep_a_quick_pour};
use crate::server::{Server, pourwright};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The lines of the README's blocks that begin with this word, without what
/// is said of them after a wide gap.
fn lines(program: &str) -> Vec<String> {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    readme
        .split("```")
        .skip(1)
        .step_by(2)
        .flat_map(str::lines)
        .filter(|line| line.starts_with(&format!("{program} ")))
        .map(|line| line.split("   ").next().unwrap().trim_end().to_owned())
        .collect()
}

/// A folder in which the examples stand where they do in the sources.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let examples = folder.path().join("docs/examples");
    fs::create_dir_all(&examples).unwrap();
    for file in fs::read_dir(root().join("docs/examples")).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), examples.join(file.file_name())).unwrap();
    }
    folder
}

#[test]
fn every_command_of_the_readme_runs_as_it_is_written() {
    let folder = folder();
    let journal = folder.path().join("workshop.sqlite");
    keep_a_quick_pour(&Server::start("serve", &journal));
    let lines = lines("pourwright");
    for word in ["check", "backup", "export", "import", "work", "print"] {
        let named = |line: &&String| line.split(' ').nth(1) == Some(word);
        assert!(
            lines.iter().any(|line| named(&line)),
            "no {word} in {lines:?}"
        );
    }
    for line in lines {
        let (words, input) = line.split_once(" < ").unwrap_or((&line, ""));
        let input = match input {
            "" => String::new(),
            file => fs::read_to_string(folder.path().join(file)).unwrap(),
        };
        let mut command = pourwright();
        command
            .args(words.split_whitespace().skip(1))
            .env("POURWRIGHT_JOURNAL", &journal)
            .current_dir(folder.path());
        let said = finish(command, &input);
        assert_eq!(said.code, 0, "{line}: {}", said.err);
    }
    assert!(folder.path().join("new.sqlite").exists());
}

/// By hand: 24 units of 1.5 oz are 36 oz of goods, and 36 ÷ 0.985 = 36.548 oz
/// are melted when 1.5 % is lost. The wax is 36.548 ÷ 1.08 = 33.841 oz, of which
/// 30.457 and 3.384, and the oil 2.707: on a scale that reads to 0.1 oz
/// 30.5 + 3.4 + 2.7 = 36.6 oz.
#[test]
fn the_order_of_the_readme_is_answered_over_http() {
    let folder = folder();
    let server = Server::start("serve", &folder.path().join("workshop.sqlite"));
    let lines = lines("curl");
    let [line] = lines.as_slice() else {
        panic!("one line with curl: {lines:?}");
    };
    let words: Vec<_> = line.split(' ').collect();
    let ["curl", "-d", file, address] = words.as_slice() else {
        panic!("{line}");
    };
    let body = fs::read_to_string(folder.path().join(file.strip_prefix('@').unwrap())).unwrap();
    let path = address.strip_prefix("http://localhost:7364").unwrap();
    let answer = ask(&server, "POST", path, &body);
    assert!(answer.starts_with("HTTP/1.1 200 "), "{answer}");
    assert!(answer.contains("\"total\":\"36.6 oz\""), "{answer}");
    assert!(answer.contains("\"goods\":\"36.0 oz\""), "{answer}");
}
