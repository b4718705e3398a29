//! A Python that has the solvers of `benches/peer`: that of `tests/reference/run`, with the versions that it pins.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Where the versions are pinned.
const REFERENCE: &str = include_str!("../../tests/reference/run");

pub struct Python {
    program: PathBuf,
    /// A folder of packages besides its own.
    packages: Option<PathBuf>,
}

impl Python {
    pub fn command(&self) -> Command {
        let mut command = Command::new(&self.program);
        if let Some(packages) = &self.packages {
            command.env("PYTHONPATH", packages);
        }
        command
    }
    fn tried(self) -> Result<Self, String> {
        done(self.command().args(["-c", "import highspy, ortools"]))?;
        Ok(self)
    }
}

/// What `PEER_PYTHON` names; else one in the target folder, filled where it is not yet.
pub fn with_solvers() -> Result<Python, String> {
    if let Some(program) = std::env::var_os("PEER_PYTHON") {
        return Python { program: program.into(), packages: None }
            .tried()
            .map_err(|e| format!("PEER_PYTHON must have the packages ortools and highspy: {e}"));
    }
    let folder = target().join("reference");
    let venv = venv(&folder.join("venv")).or_else(|e| {
        eprintln!("no venv here ({e}); pip fills a folder instead");
        folder_of_packages(&folder.join("packages"))
    });
    venv.and_then(Python::tried).map_err(|e| format!("{e}; or set PEER_PYTHON to a Python with ortools and highspy"))
}

fn venv(folder: &Path) -> Result<Python, String> {
    let pip = folder.join("bin/pip");
    if !pip.exists() {
        done(Command::new("python3").args(["-m", "venv", "--clear"]).arg(folder))?;
    }
    done(install(&mut Command::new(pip)))?;
    Ok(Python { program: folder.join("bin/python"), packages: None })
}

fn folder_of_packages(folder: &Path) -> Result<Python, String> {
    let mut command = Command::new("python3");
    command.args(["-m", "pip"]);
    done(install(&mut command).arg("--upgrade").arg("--target").arg(folder))?;
    Ok(Python { program: "python3".into(), packages: Some(folder.to_owned()) })
}

fn install(pip: &mut Command) -> &mut Command {
    let pinned = REFERENCE.lines().find_map(|line| line.strip_prefix("packages=\"")?.strip_suffix('"'));
    let pinned = pinned.expect("tests/reference/run has a line packages=\"...\"");
    pip.args(["install", "--quiet", "--disable-pip-version-check"]).args(pinned.split_whitespace())
}

/// This program stands in the target folder, as `debug/deps/quality-...`.
fn target() -> PathBuf {
    let program = std::env::current_exe().unwrap_or_default();
    program.ancestors().nth(3).map_or_else(|| PathBuf::from("target"), Path::to_owned)
}

fn done(command: &mut Command) -> Result<(), String> {
    let status = command.status().map_err(|e| format!("{}: {e}", command.get_program().display()))?;
    if status.success() { Ok(()) } else { Err(format!("{} failed: {status}", command.get_program().display())) }
}
