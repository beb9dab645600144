//! The built page: one file of HTML that `build.sh` put together, and what stands around it on a web host.

/// The page, where this program was built with it.
#[cfg(feature = "page")]
pub(crate) const PAGE: Option<&str> = Some(include_str!(env!(
    "BATCHWRIGHT_PAGE",
    "set BATCHWRIGHT_PAGE to the file that src/page/build.sh names"
)));
/// The page, where this program was built with it.
#[cfg(not(feature = "page"))]
pub(crate) const PAGE: Option<&str> = None;

/// What the page reads of the place it stands in.
const ALONE: &str = "<meta name=\"place\" content=\"alone\">";
const ON_A_HOST: &str = "<meta name=\"place\" content=\"host\">";

/// The files of a folder for a web host, by name.
pub(crate) fn folder(page: &str) -> [(&'static str, Vec<u8>); 4] {
    let service = include_str!("folder/service.js").replace("@VERSION@", &version(page));
    [
        ("index.html", page.replacen(ALONE, ON_A_HOST, 1).into_bytes()),
        ("service.js", service.into_bytes()),
        (
            "manifest.webmanifest",
            include_bytes!("folder/manifest.webmanifest").to_vec(),
        ),
        ("icon.svg", include_bytes!("screen/icon.svg").to_vec()),
    ]
}

/// Another for every other page: FNV-1a, 64 bits (Fowler, Noll, Vo; draft-eastlake-fnv).
fn version(page: &str) -> String {
    let hash = page.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{} {hash:016x}", env!("CARGO_PKG_VERSION"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_has_a_page_that_knows_its_place_and_a_version_of_its_own() {
        let shell = include_str!("screen/page.html");
        assert!(shell.contains(ALONE));
        let [(name, page), (_, service), ..] = folder(shell);
        assert_eq!(name, "index.html");
        assert!(String::from_utf8_lossy(&page).contains(ON_A_HOST));
        let service = String::from_utf8_lossy(&service).into_owned();
        assert!(!service.contains('@') && service.contains(&version(shell)), "{service}");
        assert_ne!(version(shell), version("another"));
        // FNV-1a of "a", as published with the algorithm.
        assert!(version("a").ends_with("af63dc4c8601ec8c"));
    }
}
