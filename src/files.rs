//! Files: read up to a bound, written whole or not at all. For the rooms at the edge, `cli` and `desk`.
//!
//! An ordinary file is written beside its place under a passing name and then moved there in one go; what was there before
//! stays until that moment. A device or a pipe is written straight through, for it must not be replaced by a file.
//!
//! Who changes a file that others of us may change too ([`hold`]s it first) looks before the move whether it is still what was read
//! ([`Staged::place_over`]).

use std::fs::{self, File, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use crate::{clean, interrupt};
use tempfile::{Builder, NamedTempFile};

/// No scenario and no work log is longer; stops a device that never ends from filling the memory.
pub(crate) const LONGEST_BYTES: u64 = 4 << 20;

/// Beginning and end of a passing name.
const PASSING: (&str, &str) = (".batchwright-", ".part");

/// A passing file that is older belongs to nobody who is still at work.
const LEFT_OVER: Duration = Duration::from_secs(60);

/// How long a file that somebody else holds is waited for; a holder is done in a few hundredths of a second.
const PATIENCE: Duration = Duration::from_secs(20);

/// Why a file could not be written.
#[derive(Debug)]
pub(crate) enum Failed {
    /// The machine refused: the whole message.
    Refused(String),
    /// The file is not what it was when it was read: the whole message.
    Changed(String),
    /// Something is there already, which is not to be overwritten: the whole message.
    Taken(String),
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

/// A path as it is told of.
pub(crate) fn shown(path: &Path) -> String {
    clean::line(&path.to_string_lossy()).into_owned()
}

/// Why the machine refused, in plain words where the system's own are not.
pub(crate) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::StorageFull => "no space left".to_owned(),
        io::ErrorKind::AlreadyExists => "it is there already".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "it stands on a disk that is read only".to_owned(),
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
        let name = shown(path);
        let refused = |why: &str| Failed::Refused(format!("cannot write {name}: {why}"));
        let refuse = |error: &io::Error| refused(&reason(error));
        let place = match fs::metadata(path) {
            Ok(found) if found.is_dir() => return Err(refuse(&io::ErrorKind::IsADirectory.into())),
            Ok(found) if found.is_file() => {
                if found.permissions().readonly() {
                    return Err(refused("it is read only"));
                }
                // Its folder may let it be replaced although it is not ours to write.
                fs::OpenOptions::new()
                    .append(true)
                    .open(path)
                    .map_err(|error| refuse(&error))?;
                Place::File(fs::canonicalize(path).map_err(|error| refuse(&error))?)
            }
            Ok(_) => Place::Through(path.to_owned()),
            Err(error) if error.kind() == io::ErrorKind::NotFound && path.file_name().is_some() => {
                if path.is_symlink() {
                    return Err(refused("it is a link that leads nowhere"));
                }
                Place::File(path.to_owned())
            }
            Err(error) => return Err(refuse(&error)),
        };
        if let Place::File(target) = &place {
            // A file without a name, which nothing can leave behind.
            tempfile::tempfile_in(folder_of(target)).map_err(|error| match error.kind() {
                io::ErrorKind::NotFound => refused(&format!("there is no folder {}", shown(folder_of(target)))),
                io::ErrorKind::PermissionDenied => refused(&format!(
                    "nothing can be written into its folder {}",
                    shown(folder_of(target))
                )),
                _ => refuse(&error),
            })?;
        }
        Ok(Self { name, place })
    }

    /// Whether both name the same place, be it there or not.
    pub(crate) fn is(&self, path: &Path) -> bool {
        matches!(&self.place, Place::File(target) if whole(target) == whole(path))
    }

    /// As the user wrote it.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    /// What stands there already, if it is an ordinary file; read up to the usual bound.
    pub(crate) fn before(&self) -> Option<Vec<u8>> {
        match &self.place {
            Place::File(target) => load(target).ok(),
            Place::Through(_) => None,
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
                sweep_left_overs(folder_of(&target));
                let before = fs::metadata(&target).ok();
                let mut file =
                    interrupt::passing(|| passing_file(&target, before.is_some())).map_err(|e| failed(&e))?;
                // Held while somebody is at it; best effort, as some disks know no locks.
                let _held = file.as_file().try_lock();
                file.write_all(bytes)
                    .and_then(|()| before.map_or(Ok(()), |before| take_over(file.as_file(), &before)))
                    .and_then(|()| file.as_file().sync_all())
                    .map_err(|e| failed(&e))?;
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
            Some(file) => {
                file.persist(&self.target)
                    .map_err(|refused| Failed::writing(&self.name, &refused.error))?;
                keep_folder(&self.target);
                Ok(())
            }
        }
    }

    /// Moves the file to its place if that still holds what it held when it was read. Looked at when all is on the disk: what is left is
    /// the blink of a renaming.
    pub(crate) fn place_over(self, before: &[u8]) -> Result<(), Failed> {
        if load(&self.target).map_err(|error| Failed::writing(&self.name, &error))? != before {
            return Err(Failed::Changed(format!(
                "{} was changed by something else meanwhile; nothing was written, do it again",
                self.name
            )));
        }
        self.place()
    }

    /// Moves the file to its place unless something is there by now.
    pub(crate) fn place_new(self) -> Result<(), Failed> {
        match self.file {
            None => Ok(()),
            Some(file) => match file.persist_noclobber(&self.target) {
                Ok(_) => {
                    keep_folder(&self.target);
                    Ok(())
                }
                Err(refused) if refused.error.kind() == io::ErrorKind::AlreadyExists => Err(Failed::Taken(format!(
                    "cannot write {}: it is there already",
                    self.name
                ))),
                Err(refused) => Err(Failed::writing(&self.name, &refused.error)),
            },
        }
    }
}

/// A file that nobody else of ours changes while this is there.
#[derive(Debug)]
pub(crate) struct Held(File);

/// Holds a file that is there.
///
/// # Errors
/// It cannot be opened, or somebody else does not let go of it ([`io::ErrorKind::TimedOut`]).
pub(crate) fn hold(path: &Path) -> io::Result<Held> {
    let until = Instant::now() + PATIENCE;
    loop {
        let file = File::open(path)?;
        match file.try_lock() {
            // Another may have put a new file in its place while we waited: that one is to be held.
            Ok(()) if is_at(&file, path) => return Ok(Held(file)),
            // A disk that knows no locks; `place_over` is what is left.
            Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => return Ok(Held(file)),
            Err(TryLockError::Error(error)) => return Err(error),
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(2)),
        }
        if Instant::now() > until {
            return Err(io::Error::new(io::ErrorKind::TimedOut, "something else holds it"));
        }
    }
}

/// Puts `more` at the end of a file that is held and holds `before`. In one go; where its folder takes no other file, at its very end, and
/// what could not be written whole is taken away again.
pub(crate) fn append(path: &Path, held: &Held, before: &[u8], more: &[u8]) -> Result<(), Failed> {
    let longer = [before, more].concat();
    if longer.len() as u64 > LONGEST_BYTES {
        return Err(Failed::Refused(format!(
            "cannot write {}: it would be longer than {} MB, and nothing would read it then; begin a new one",
            shown(path),
            LONGEST_BYTES >> 20
        )));
    }
    let in_folder = fs::canonicalize(path).and_then(|target| tempfile::tempfile_in(folder_of(&target)));
    if in_folder.is_ok() {
        return Destination::open(path)?.stage(&longer)?.place_over(before);
    }
    let failed = |error: &io::Error| Failed::writing(&shown(path), error);
    if fs::metadata(path).is_ok_and(|found| found.permissions().readonly()) {
        return Err(failed(&io::Error::other("it is read only")));
    }
    let mut file = fs::OpenOptions::new().append(true).open(path).map_err(|e| failed(&e))?;
    if !is_at(&held.0, path) || load(path).map_err(|e| failed(&e))? != before {
        return Err(Failed::Changed(format!(
            "{} was changed by something else meanwhile",
            shown(path)
        )));
    }
    file.write_all(more).and_then(|()| file.sync_all()).map_err(|error| {
        let _taken_away = file.set_len(before.len() as u64);
        failed(&error)
    })
}

/// Whether an open file is the one that a path leads to.
#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let same = |a: &fs::Metadata, b: &fs::Metadata| (a.dev(), a.ino()) == (b.dev(), b.ino());
    matches!((file.metadata(), fs::metadata(path)), (Ok(a), Ok(b)) if same(&a, &b))
}

#[cfg(not(unix))]
fn is_at(_: &File, path: &Path) -> bool {
    path.exists()
}

/// A path with its links resolved, of a file that may not be there yet.
fn whole(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| match (fs::canonicalize(folder_of(path)), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_owned(),
    })
}

/// Gives a new file the owner, group and rights of the one it replaces, as far as the system lets us. Where the group cannot be kept, nobody
/// gets through it what was meant for another.
fn take_over(file: &File, before: &fs::Metadata) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::{MetadataExt, PermissionsExt, fchown};
        let now = file.metadata()?;
        let mut mode = before.mode() & 0o7777;
        if now.uid() != before.uid() && fchown(file, Some(before.uid()), None).is_err() {
            mode &= !0o4000;
        }
        if now.gid() != before.gid() && fchown(file, None, Some(before.gid())).is_err() {
            mode &= !0o2070;
        }
        file.set_permissions(fs::Permissions::from_mode(mode))
    }
    #[cfg(not(unix))]
    file.set_permissions(before.permissions())
}

/// Takes away passing files that were left behind by a process that was killed: old ones that nobody holds.
fn sweep_left_overs(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let old = |found: fs::Metadata| {
            let age = found
                .modified()
                .ok()
                .and_then(|at| SystemTime::now().duration_since(at).ok());
            found.is_file() && age.is_some_and(|age| age > LEFT_OVER)
        };
        let passing = name.starts_with(PASSING.0) && name.ends_with(PASSING.1);
        if passing
            && entry.metadata().is_ok_and(old)
            && File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok())
        {
            let _gone = fs::remove_file(entry.path());
        }
    }
}

/// That a file has its new name is on the disk too; best effort.
fn keep_folder(target: &Path) {
    #[cfg(unix)]
    let _kept = File::open(folder_of(target)).and_then(|folder| folder.sync_all());
    #[cfg(not(unix))]
    let _ = target;
}

fn folder_of(target: &Path) -> &Path {
    match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// A file that vanishes unless it is moved to its place, in the folder of `target`. For us alone where it is to replace another, whose
/// rights it gets when it is written.
fn passing_file(target: &Path, replaces: bool) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(PASSING.0).suffix(PASSING.1);
    #[cfg(unix)]
    if !replaces {
        use std::os::unix::fs::PermissionsExt;
        // What any new file gets (the user's mask applies), not the private rights of a scratch file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    #[cfg(not(unix))]
    let _ = replaces;
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
        assert!(matches!(staged.place_new(), Err(Failed::Taken(_))));
        assert_eq!(fs::read_to_string(&path).expect("read"), "theirs");
        assert_eq!(names(folder.path()), ["a"]);
    }

    #[test]
    fn what_was_changed_meanwhile_stays() {
        let folder = tempfile::tempdir().expect("scratch");
        let path = folder.path().join("a");
        fs::write(&path, "read").expect("write");
        let staged = || {
            Destination::open(&path)
                .expect("writable")
                .stage(b"mine")
                .expect("space")
        };
        let first = staged();
        fs::write(&path, "theirs").expect("write");
        assert!(matches!(first.place_over(b"read"), Err(Failed::Changed(_))));
        assert_eq!(fs::read_to_string(&path).expect("read"), "theirs");
        staged().place_over(b"theirs").expect("unchanged");
        assert_eq!(fs::read_to_string(&path).expect("read"), "mine");
        assert_eq!(names(folder.path()), ["a"]);
    }

    #[test]
    fn who_waits_for_a_held_file_gets_the_one_that_is_there_then() {
        let folder = tempfile::tempdir().expect("scratch");
        let path = folder.path().join("a");
        fs::write(&path, "one").expect("write");
        let held = hold(&path).expect("free");
        let waiting = std::thread::spawn({
            let path = path.clone();
            move || {
                let held = hold(&path).expect("free in the end");
                let before = load(&path).expect("read");
                append(&path, &held, &before, b" three").expect("added");
            }
        });
        std::thread::sleep(Duration::from_millis(20));
        append(&path, &held, b"one", b" two").expect("added");
        drop(held);
        waiting.join().expect("no panic");
        assert_eq!(fs::read_to_string(&path).expect("read"), "one two three");
    }

    #[test]
    fn what_a_killed_process_left_is_taken_away_once_it_is_old() {
        let folder = tempfile::tempdir().expect("scratch");
        for name in [".batchwright-old.part", ".batchwright-new.part", "other.part"] {
            fs::write(folder.path().join(name), "x").expect("write");
        }
        for name in [".batchwright-old.part", "other.part"] {
            let file = File::options()
                .write(true)
                .open(folder.path().join(name))
                .expect("file");
            file.set_modified(SystemTime::now() - 2 * LEFT_OVER).expect("age");
        }
        let place = Destination::open(&folder.path().join("a")).expect("writable");
        place.stage(b"x").expect("space").place().expect("moved");
        assert_eq!(names(folder.path()), [".batchwright-new.part", "a", "other.part"]);
    }

    /// Whoever looks while it is written sees no more than may be seen of what is there.
    #[cfg(unix)]
    #[test]
    fn a_passing_file_is_never_more_open_than_the_one_it_replaces() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("scratch");
        let path = folder.path().join("a");
        fs::write(&path, "x").expect("write");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).expect("rights");
        let passing = passing_file(&path, true).expect("space");
        let mode = |path: &Path| fs::metadata(path).expect("meta").permissions().mode() & 0o777;
        assert_eq!(mode(passing.path()), 0o600);
        drop(passing);
        let staged = Destination::open(&path).expect("writable").stage(b"y").expect("space");
        let part = names(folder.path())
            .into_iter()
            .find(|name| name.ends_with(".part"))
            .expect("beside");
        assert_eq!(mode(&folder.path().join(part)), 0o600);
        staged.place().expect("moved");
        assert_eq!(mode(&path), 0o600);
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
