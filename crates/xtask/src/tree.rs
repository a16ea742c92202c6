//! The files of the workspace, as git sees them.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context as _, ensure};

/// The workspace on disk.
pub(crate) struct Tree {
    root: PathBuf,
    /// Paths below the root, with `/`, sorted: what is committed and what
    /// could be, without what is ignored or deleted.
    files: Vec<String>,
}

impl Tree {
    /// Lists the files of the work tree at `root`.
    pub(crate) fn read(root: &Path) -> anyhow::Result<Self> {
        let output = Command::new("git")
            .arg("-C")
            .arg(root)
            // A checkout made by another user is refused by git otherwise.
            .arg("-c")
            .arg(format!("safe.directory={}", root.display()))
            .args([
                "ls-files",
                "-z",
                "--cached",
                "--others",
                "--exclude-standard",
            ])
            .stderr(Stdio::inherit())
            .output()
            .context("could not start git, which lists the files to check")?;
        ensure!(output.status.success(), "git could not list the files");
        let listed = String::from_utf8(output.stdout).context("a file name is not UTF-8")?;
        let mut files: Vec<String> = listed
            .split('\0')
            .filter(|path| !path.is_empty() && root.join(path).is_file())
            .map(str::to_owned)
            .collect();
        files.sort();
        files.dedup();
        Ok(Self {
            root: root.to_owned(),
            files,
        })
    }

    /// Returns every file below the root.
    pub(crate) fn files(&self) -> &[String] {
        &self.files
    }

    /// Returns the files whose names end so, each with its text.
    pub(crate) fn texts(&self, ending: &str) -> anyhow::Result<Vec<(&str, String)>> {
        let named = self.files.iter().filter(|path| path.ends_with(ending));
        named
            .map(|path| Ok((path.as_str(), self.text(path)?)))
            .collect()
    }

    /// Returns the text of one file.
    pub(crate) fn text(&self, path: &str) -> anyhow::Result<String> {
        std::fs::read_to_string(self.root.join(path))
            .with_context(|| format!("could not read {path}"))
    }

    /// Writes one file, with its folder.
    pub(crate) fn write(&self, path: &str, text: &str) -> anyhow::Result<()> {
        let path = self.root.join(path);
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)
                .with_context(|| format!("could not make {}", folder.display()))?;
        }
        std::fs::write(&path, text).with_context(|| format!("could not write {}", path.display()))
    }

    /// Returns a call of the cargo that runs this, in the workspace.
    pub(crate) fn cargo(&self) -> Command {
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let mut command = Command::new(cargo);
        command.current_dir(&self.root).stdin(Stdio::null());
        command
    }
}
