//! The program, started as a maker starts it, and stopped with the test.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// The program, with nothing of this machine's settings in it.
pub(crate) fn pourwright() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    for name in ["POURWRIGHT_CONFIG", "POURWRIGHT_JOURNAL", "POURWRIGHT_PORT"] {
        command.env_remove(name);
    }
    command
}

/// A program that serves its pages.
pub(crate) struct Server {
    child: Child,
    /// Where a browser finds it, without a slash at the end.
    pub(crate) home: String,
}

impl Drop for Server {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

impl Server {
    /// Starts `serve` or `demo` on a journal, at a port that is free.
    pub(crate) fn start(what: &str, journal: &Path) -> Self {
        let mut command = pourwright();
        command
            .args([what, "--port", "0", "--journal"])
            .arg(journal);
        Self::from(command)
    }

    /// Starts a command that serves, and waits until it says where.
    pub(crate) fn from(mut command: Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let home = lines
            .find_map(|line| {
                let line = line.unwrap();
                let address = line.strip_prefix("Open ")?.split_once(' ')?.0;
                Some(address.to_owned())
            })
            .expect("the program says where it serves");
        Self { child, home }
    }
}
