//! The shipped scenarios, as they stand in their folder: whatever is shipped is tested.

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");

static NAMES: LazyLock<Vec<String>> = LazyLock::new(|| {
    let files = fs::read_dir(FOLDER).expect("the folder of scenarios").flatten();
    let mut names: Vec<String> = files
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .filter_map(|path| Some(path.file_stem()?.to_str()?.to_owned()))
        .collect();
    names.sort();
    names
});

/// The names of all, in order.
pub fn names() -> impl Iterator<Item = &'static str> {
    NAMES.iter().map(String::as_str)
}

/// The file of one.
pub fn shipped(name: &str) -> String {
    let path = Path::new(FOLDER).join(name).with_extension("toml");
    path.to_str().expect("a path of letters").to_owned()
}
