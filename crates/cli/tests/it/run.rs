//! Running the program and reading what it says.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::server::{Server, pourwright};

/// What a command said, and how it ended.
pub(crate) struct Said {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// Runs the program with arguments and something on its standard input.
#[track_caller]
pub(crate) fn run(args: &[&str], input: &str) -> Said {
    let mut command = pourwright();
    command.args(args);
    finish(command, input)
}

/// Runs the program on a journal.
#[track_caller]
pub(crate) fn on(journal: &Path, args: &[&str]) -> Said {
    let mut command = pourwright();
    command.args(args).arg("--journal").arg(journal);
    finish(command, "")
}

#[track_caller]
pub(crate) fn finish(mut command: Command, input: &str) -> Said {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A command that refuses early does not read what it is given.
    drop(child.stdin.take().unwrap().write_all(input.as_bytes()));
    let output = child.wait_with_output().unwrap();
    Said {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Sends a request to the program's pages, and returns the whole answer.
#[track_caller]
pub(crate) fn ask(server: &Server, method: &str, path: &str, body: &str) -> String {
    let host = server.home.strip_prefix("http://").unwrap();
    let mut socket = TcpStream::connect(host).unwrap();
    let request = format!(
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    socket.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    socket.read_to_string(&mut answer).unwrap();
    answer
}

/// A form that keeps a quick pour of about a pound.
pub(crate) const QUICK_POUR: &str = "wax=soy+wax&oil=Harbour+Fig+oil&load=12+%25+of+wax&by=wax\
     &amount=16.7+oz&readability=0.1+oz&name=Harbour+Fig&mould=12-bar+mould&cavities=12\
     &format=snap_bar&workshop=Quillfen+Wax+Works&currency=USD";

/// Keeps a quick pour, and returns the address of the pour.
#[track_caller]
pub(crate) fn keep_a_quick_pour(server: &Server) -> String {
    let answer = ask(server, "POST", "/quick/keep", QUICK_POUR);
    assert!(answer.starts_with("HTTP/1.1 303 "), "{answer}");
    let location = answer
        .lines()
        .find_map(|line| line.strip_prefix("location: "));
    location.unwrap().to_owned()
}
