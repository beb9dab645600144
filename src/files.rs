//! Files: read up to a bound, written whole or not at all. For the rooms at the edge, `cli` and `desk`.
//!
//! An ordinary file is written beside its place under a passing name and then moved there in one go; what was there before
//! stays until that moment. A device or a pipe is written straight through, for it must not be replaced by a file.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use tempfile::{Builder, NamedTempFile};

/// No scenario and no work log is longer; stops a device that never ends from filling the memory.
pub(crate) const LONGEST_BYTES: u64 = 4 << 20;

/// Why a file could not be written.
#[derive(Debug)]
pub(crate) enum Failed {
    /// The machine refused: the whole message.
    Refused(String),
    /// Whoever read our output went away.
    ReaderGone,
}

impl Failed {
    /// A failed write, told apart from a reader that went away.
    pub(crate) fn writing(what: &str, error: &io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::ReaderGone
        } else {
            Self::Refused(format!("cannot write {what}: {}", reason(error)))
        }
    }
}

/// What a file holds; a folder is refused.
pub(crate) fn load(file: &Path) -> io::Result<Vec<u8>> {
    let handle = File::open(file)?;
    if handle.metadata()?.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    load_from(handle)
}

/// What a source holds: all of it, or one byte more than [`LONGEST_BYTES`].
pub(crate) fn load_from(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(LONGEST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Why the machine refused, in plain words where the system's own are not.
pub(crate) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::StorageFull => "no space left".to_owned(),
        _ => error.to_string(),
    }
}

/// A place that was found writable before the work began.
#[derive(Debug)]
pub(crate) struct Destination {
    /// As the user wrote it, for messages.
    name: String,
    place: Place,
}

#[derive(Debug)]
enum Place {
    /// An ordinary file, there or not; symbolic links resolved.
    File(PathBuf),
    /// A device, a pipe, a socket.
    Through(PathBuf),
}

/// Bytes that are safely on the disk and only need their name.
#[derive(Debug)]
pub(crate) struct Staged {
    name: String,
    target: PathBuf,
    /// `None`: already written through.
    file: Option<NamedTempFile>,
}

impl Destination {
    /// Checks that `path` can be written, without leaving a trace.
    pub(crate) fn open(path: &Path) -> Result<Self, Failed> {
        let name = path.display().to_string();
        let refuse = |error: &io::Error| Failed::Refused(format!("cannot write {name}: {}", reason(error)));
        let place = match fs::metadata(path) {
            Ok(found) if found.is_dir() => return Err(refuse(&io::ErrorKind::IsADirectory.into())),
            Ok(found) if found.is_file() => Place::File(fs::canonicalize(path).map_err(|error| refuse(&error))?),
            Ok(_) => Place::Through(path.to_owned()),
            Err(error) if error.kind() == io::ErrorKind::NotFound && path.file_name().is_some() => {
                Place::File(path.to_owned())
            }
            Err(error) => return Err(refuse(&error)),
        };
        if let Place::File(target) = &place {
            passing_file(target).map_err(|error| match error.kind() {
                io::ErrorKind::NotFound => Failed::Refused(format!(
                    "cannot write {name}: there is no folder {}",
                    folder_of(target).display()
                )),
                _ => refuse(&error),
            })?;
        }
        Ok(Self { name, place })
    }

    /// Whether both name the same place.
    pub(crate) fn is(&self, path: &Path) -> bool {
        let Place::File(target) = &self.place else { return false };
        match (fs::canonicalize(target), fs::canonicalize(path)) {
            (Ok(a), Ok(b)) => a == b,
            _ => target == path,
        }
    }

    /// Writes the bytes beside their place. A device gets them at once.
    pub(crate) fn stage(self, bytes: &[u8]) -> Result<Staged, Failed> {
        let Self { name, place } = self;
        let failed = |error: &io::Error| Failed::writing(&name, error);
        let (target, file) = match place {
            Place::Through(path) => {
                let mut device = fs::OpenOptions::new().write(true).open(&path).map_err(|e| failed(&e))?;
                device
                    .write_all(bytes)
                    .and_then(|()| device.flush())
                    .map_err(|e| failed(&e))?;
                (path, None)
            }
            Place::File(target) => {
                let mut file = passing_file(&target).map_err(|e| failed(&e))?;
                file.write_all(bytes)
                    .and_then(|()| file.as_file().sync_all())
                    .map_err(|e| failed(&e))?;
                if let Ok(before) = fs::metadata(&target) {
                    // Best effort: a file keeps the rights it had.
                    let _kept = file.as_file().set_permissions(before.permissions());
                }
                (target, Some(file))
            }
        };
        Ok(Staged { name, target, file })
    }
}

impl Staged {
    /// Moves the file to its place, over what was there.
    pub(crate) fn place(self) -> Result<(), Failed> {
        match self.file {
            None => Ok(()),
            Some(file) => file
                .persist(&self.target)
                .map(drop)
                .map_err(|refused| Failed::writing(&self.name, &refused.error)),
        }
    }

    /// Moves the file to its place unless something is there by now.
    pub(crate) fn place_new(self) -> Result<(), Failed> {
        match self.file {
            None => Ok(()),
            Some(file) => file
                .persist_noclobber(&self.target)
                .map(drop)
                .map_err(|refused| Failed::writing(&self.name, &refused.error)),
        }
    }
}

fn folder_of(target: &Path) -> &Path {
    match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// A file that vanishes unless it is moved to its place, in the folder of `target`.
fn passing_file(target: &Path) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(".batchwright-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // What any new file gets (the user's mask applies), not the private rights of a scratch file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder_of(target))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .expect("folder")
            .map(|entry| entry.expect("entry").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn opening_leaves_no_trace_and_staging_leaves_the_old_file_until_it_is_placed() {
        let folder = tempfile::tempdir().expect("scratch");
        let path = folder.path().join("out.txt");
        fs::write(&path, "before").expect("write");
        let destination = Destination::open(&path).expect("writable");
        assert_eq!(names(folder.path()), ["out.txt"]);
        let staged = destination.stage(b"after").expect("space");
        assert_eq!(fs::read_to_string(&path).expect("read"), "before");
        staged.place().expect("moved");
        assert_eq!(fs::read_to_string(&path).expect("read"), "after");
        assert_eq!(names(folder.path()), ["out.txt"]);
    }

    #[test]
    fn a_staged_file_that_is_dropped_is_gone() {
        let folder = tempfile::tempdir().expect("scratch");
        let staged = Destination::open(&folder.path().join("a"))
            .expect("writable")
            .stage(b"x");
        drop(staged);
        assert!(names(folder.path()).is_empty());
    }

    #[test]
    fn placing_new_never_overwrites() {
        let folder = tempfile::tempdir().expect("scratch");
        let path = folder.path().join("a");
        let staged = Destination::open(&path)
            .expect("writable")
            .stage(b"mine")
            .expect("space");
        fs::write(&path, "theirs").expect("write");
        assert!(matches!(staged.place_new(), Err(Failed::Refused(_))));
        assert_eq!(fs::read_to_string(&path).expect("read"), "theirs");
        assert_eq!(names(folder.path()), ["a"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_symbolic_link_stays_and_its_target_keeps_its_rights() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().expect("scratch");
        let (target, link) = (folder.path().join("target"), folder.path().join("link"));
        fs::write(&target, "before").expect("write");
        fs::set_permissions(&target, fs::Permissions::from_mode(0o640)).expect("rights");
        symlink(&target, &link).expect("link");
        let staged = Destination::open(&link)
            .expect("writable")
            .stage(b"after")
            .expect("space");
        staged.place().expect("moved");
        assert!(fs::symlink_metadata(&link).expect("link").is_symlink());
        assert_eq!(fs::read_to_string(&target).expect("read"), "after");
        assert_eq!(fs::metadata(&target).expect("meta").permissions().mode() & 0o777, 0o640);
    }
}
