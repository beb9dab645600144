//! The one file: read, and written whole or not at all where nobody else has changed it meanwhile.

use std::path::{Path, PathBuf};

use crate::files::{self, Destination, Failed, LONGEST_BYTES, reason};

/// The file that the page is about.
#[derive(Debug)]
pub(super) struct Kept {
    path: PathBuf,
}

/// Why nothing was saved.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Unsaved {
    /// Somebody else has changed the file since it was read.
    Changed,
    /// It cannot be read or written: the whole sentence.
    Refused(String),
}

impl Kept {
    pub(super) fn new(path: &Path) -> Self {
        Self { path: path.to_owned() }
    }

    /// As it is shown to people.
    pub(super) fn name(&self) -> String {
        files::shown(&self.path)
    }

    /// Its text.
    ///
    /// # Errors
    /// One sentence.
    pub(super) fn load(&self) -> Result<String, String> {
        let name = self.name();
        let bytes = files::load(&self.path).map_err(|error| format!("cannot read {name}: {}", reason(&error)))?;
        if bytes.len() as u64 > LONGEST_BYTES {
            return Err(format!(
                "{name} is longer than {} MB, so it is not a scenario",
                LONGEST_BYTES >> 20
            ));
        }
        String::from_utf8(bytes).map_err(|_| format!("{name} is not UTF-8 text"))
    }

    /// Puts `text` in the place of `before`, which is what the file holds if nobody has changed it.
    pub(super) fn save(&self, before: &str, text: &str) -> Result<(), Unsaved> {
        if text.len() as u64 > LONGEST_BYTES {
            return Err(Unsaved::Refused(format!(
                "it would be longer than {} MB, and nothing would read it then",
                LONGEST_BYTES >> 20
            )));
        }
        let name = self.name();
        let _held = files::hold(&self.path)
            .map_err(|error| Unsaved::Refused(format!("cannot read {name}: {}", reason(&error))))?;
        if self.load().map_err(Unsaved::Refused)? != before {
            return Err(Unsaved::Changed);
        }
        let refused = |failed| match failed {
            Failed::Changed(_) => Unsaved::Changed,
            Failed::Refused(why) | Failed::Taken(why) => Unsaved::Refused(why),
            Failed::ReaderGone => Unsaved::Refused(format!("cannot write {name}")),
        };
        let staged = Destination::open(&self.path).and_then(|place| place.stage(text.as_bytes()));
        staged
            .and_then(|staged| staged.place_over(before.as_bytes()))
            .map_err(refused)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn what_somebody_else_wrote_is_never_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        fs::write(&path, "one").unwrap();
        let kept = Kept::new(&path);
        assert_eq!(kept.save("one", "two"), Ok(()));
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        assert_eq!(kept.save("one", "three"), Err(Unsaved::Changed));
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        fs::remove_file(&path).unwrap();
        assert!(matches!(kept.save("two", "three"), Err(Unsaved::Refused(why)) if why.contains("no such file")));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}
