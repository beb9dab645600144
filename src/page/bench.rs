//! The built page: one file of HTML that `build.sh` put together, and what stands around it on a web host.

use crate::hash::fnv1a;

/// The page, where this program was built with it.
#[cfg(feature = "page")]
pub(crate) const PAGE: Option<&str> = Some(include_str!(env!(
    "BATCHWRIGHT_PAGE",
    "set BATCHWRIGHT_PAGE to the file that src/page/build.sh names"
)));
/// The page, where this program was built with it.
#[cfg(not(feature = "page"))]
pub(crate) const PAGE: Option<&str> = None;
/// The library for browsers without vectors, which `build.sh` writes beside the page.
#[cfg(feature = "page")]
pub(crate) const PLAIN: Option<&str> = Some(include_str!(concat!(env!("BATCHWRIGHT_PAGE"), ".plain")));
/// The library for browsers without vectors.
#[cfg(not(feature = "page"))]
pub(crate) const PLAIN: Option<&str> = None;

/// Where the library stands in the page: until the end of the script.
const ENGINE: &str = "<script type=\"text/plain\" id=\"engine\" data-for=\"vectors\">";
const ENGINE_FOR_ANY: &str = "<script type=\"text/plain\" id=\"engine\" data-for=\"any\">";

/// What the page reads of the place it stands in.
const ALONE: &str = "<meta name=\"place\" content=\"alone\">";
const ON_A_HOST: &str = "<meta name=\"place\" content=\"host\">";

/// Whether a text is such a page, for itself alone.
#[cfg(feature = "cli")]
pub(crate) fn is_ours(page: &str) -> bool {
    page.contains(ALONE) && page.contains("<meta name=\"generator\" content=\"batchwright ")
}

/// The page with another library in it, which needs no vectors: slower, and for browsers that have none.
pub(crate) fn for_old_browsers(page: &str, plain: &str) -> String {
    let whole = page.split_once(ENGINE);
    let whole = whole.and_then(|(before, rest)| Some((before, rest.split_once("</script>")?.1)));
    whole.map_or_else(
        || page.to_owned(),
        |(before, after)| format!("{before}{ENGINE_FOR_ANY}{plain}</script>{after}"),
    )
}

/// The files of a folder for a web host, by name: the page, and the one for older browsers, to which it sends them.
pub(crate) fn folder(page: &str, plain: &str) -> [(&'static str, Vec<u8>); 5] {
    let service = include_str!("folder/service.js").replace("@VERSION@", &version(page));
    let on_a_host = |page: &str| page.replacen(ALONE, ON_A_HOST, 1).into_bytes();
    [
        ("index.html", on_a_host(page)),
        ("old.html", on_a_host(&for_old_browsers(page, plain))),
        ("service.js", service.into_bytes()),
        (
            "manifest.webmanifest",
            include_bytes!("folder/manifest.webmanifest").to_vec(),
        ),
        ("icon.svg", include_bytes!("screen/icon.svg").to_vec()),
    ]
}

/// The page as `desk` gives it out, and the policy that goes with it: it may ask the server it came from, with this secret, about the file
/// of this name (escaped).
#[cfg(feature = "desk")]
pub(crate) fn at_desk(page: &str, secret: &str, file: &str) -> (String, String) {
    const NOTHING: &str = "default-src 'none'; ";
    const POLICY: &str = "http-equiv=\"Content-Security-Policy\" content=\"";
    let place = format!(
        "<meta name=\"place\" content=\"desk\">\n<meta name=\"secret\" content=\"{secret}\">\n<meta name=\"file\" content=\"{file}\">"
    );
    let page = page
        .replacen(ALONE, &place, 1)
        .replacen(NOTHING, &format!("{NOTHING}connect-src 'self'; "), 1);
    let policy = page
        .split_once(POLICY)
        .and_then(|(_, rest)| rest.split_once('"'))
        .map_or(NOTHING, |(policy, _)| policy);
    let policy = format!("{policy}; frame-ancestors 'none'");
    (page, policy)
}

/// A report that carries the page, with these scenarios in it, to try other values in. The page stands in a frame of its own, which may run
/// its script and reaches nothing of the report; it begins when the part that it stands in is opened.
#[cfg(feature = "cli")]
pub(crate) fn carried(report: &str, page: &str, texts: &[String]) -> String {
    const END: &str = "</main>\n";
    const STYLES: &str = "style-src 'unsafe-inline'; ";
    let given = serde_json::to_string(texts).unwrap_or_default().replace('<', "\\u003c");
    let page = page
        .replacen(ALONE, "<meta name=\"place\" content=\"report\">", 1)
        .replacen(
            ENGINE,
            &format!("<script type=\"text/plain\" id=\"given\">{given}</script>\n{ENGINE}"),
            1,
        );
    let scripts = page
        .split_once("script-src ")
        .and_then(|(_, rest)| rest.split_once(';'))
        .map_or("'none'", |(scripts, _)| scripts);
    let policy = format!("{STYLES}script-src {scripts}; worker-src blob:; img-src data:; ");
    let framed = page
        .replace('&', "&amp;")
        .replace('"', "&quot;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    let section = format!(
        "<section id=\"live\" class=\"live\" aria-labelledby=\"live-head\">\n<h2 id=\"live-head\">Change a value and see</h2>\n\
         <p>Here you can change every value and see what it does. Nothing that you change here is kept, and the report above stays as it is.</p>\n\
         <details>\n<summary>Open it</summary>\n\
         <iframe title=\"Change a value and see\" sandbox=\"allow-scripts allow-downloads\" loading=\"lazy\" srcdoc=\"{framed}\"></iframe>\n\
         </details>\n</section>\n{END}"
    );
    let style = ".live iframe { width: 100%; height: 90vh; border: 1px solid; }\n@media print { .live { display: none; } }\n</style>";
    report
        .replacen(STYLES, &policy, 1)
        .replacen("</style>", style, 1)
        .replacen(END, &section, 1)
}

/// Another for every other page.
fn version(page: &str) -> String {
    format!("{} {:016x}", env!("CARGO_PKG_VERSION"), fnv1a(page.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(feature = "desk")]
    #[test]
    fn at_the_desk_it_may_ask_its_own_server_and_nobody_else() {
        let (page, policy) = at_desk(include_str!("screen/page.html"), "secret", "a &amp; b.toml");
        assert!(page.contains("<meta name=\"secret\" content=\"secret\">") && !page.contains(ALONE));
        assert!(
            policy.starts_with("default-src 'none'; connect-src 'self'; script-src 'sha256-"),
            "{policy}"
        );
        assert!(
            policy.ends_with("; frame-ancestors 'none'") && !policy.contains("unsafe-inline"),
            "{policy}"
        );
        assert!(page.contains(policy.trim_end_matches("; frame-ancestors 'none'")));
    }

    #[test]
    fn a_folder_has_a_page_that_knows_its_place_and_a_version_of_its_own() {
        let shell = include_str!("screen/page.html");
        assert!(shell.contains(ALONE));
        let [(name, page), (old_name, old), (_, service), ..] = folder(shell, "PLAIN");
        assert_eq!([name, old_name], ["index.html", "old.html"]);
        assert!(String::from_utf8_lossy(&page).contains(ON_A_HOST));
        let old = String::from_utf8_lossy(&old).into_owned();
        assert!(old.contains(ON_A_HOST) && old.contains(&format!("{ENGINE_FOR_ANY}PLAIN</script>")));
        assert!(
            !old.contains("@ENGINE@") && !old.contains(ENGINE),
            "the other library is gone"
        );
        let service = String::from_utf8_lossy(&service).into_owned();
        assert!(!service.contains('@') && service.contains(&version(shell)), "{service}");
        assert_ne!(version(shell), version("another"));
    }
}
