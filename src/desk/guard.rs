//! Who is let in: the page that this server gave out, in a browser on this machine.
//!
//! Binding to loopback keeps other machines out, not other people on this one. The address that is printed has a key in it, good for once: the
//! browser that opens it gets a pass, a cookie that no script can read and that no foreign page can make the browser send (RFC 6265bis:
//! HttpOnly, SameSite=Strict). Whatever comes without it is refused. (Cookies know no ports: another server on this machine, opened in the
//! same browser, would be sent it.)
//!
//! Nor does binding keep out other pages in the same browser. Three things do:
//!
//! - `Host` names this server (RFC 9110, 7.2). A foreign name that was made to lead to 127.0.0.1 (DNS rebinding) is told that this is
//!   not its server (421, RFC 9110, 15.5.20).
//! - What reads or writes the file is asked by POST, with an `Origin` (RFC 6454, 7) that is this server and the one that `Host`
//!   names. Browsers send it with every POST (WHATWG Fetch, 3.2), and a page cannot change it.
//! - Such a request also brings the secret that stands in the page, in a header of its own, which a foreign page can neither read (same-origin
//!   policy; no CORS header is ever sent) nor send unasked (WHATWG Fetch, 3.3: not a safelisted header). OWASP, Cross-Site Request
//!   Forgery Prevention Cheat Sheet: custom request header with a token.

use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderName, HeaderValue};
use axum::http::{HeaderMap, Method, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::Desk;
use crate::files::LONGEST_BYTES;

/// The header that brings the page's secret.
pub(super) const SECRET: &str = "batchwright-secret";

/// Room for a scenario as it was loaded and as it is now, escaped.
pub(super) const LONGEST_REQUEST: usize = 4 * LONGEST_BYTES as usize;

/// Bytes of chance in the secret.
const SECRET_BYTES: usize = 32;

/// What a browser may do with what it gets from here, but for the page, which brings a policy of its own: nothing.
const POLICY: &str = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const ALWAYS: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
];

/// A new secret, in hexadecimal digits.
///
/// # Errors
/// Where the system gives no random bytes.
pub(super) fn secret() -> Result<String, getrandom::Error> {
    let mut bytes = [0; SECRET_BYTES];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// What is read of a request that is refused, so that the next one on the same connection is understood.
const READ_OF_REFUSED: usize = 1 << 16;

/// Who came.
enum Admitted {
    /// The browser that has the pass.
    Known,
    /// Whoever opened the address first: the pass is due.
    First,
}

/// Lets in, or refuses, and sets the headers of every answer.
pub(super) async fn guard(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let admitted = admitted(&desk, request.method(), request.uri(), request.headers());
    let (parts, body) = request.into_parts();
    let room = if admitted.is_ok() {
        LONGEST_REQUEST
    } else {
        READ_OF_REFUSED
    };
    let declared = only(&parts.headers, &header::CONTENT_LENGTH).and_then(|length| length.parse::<usize>().ok());
    // What is announced to be longer is not waited for.
    let content = match declared {
        Some(length) if length > room => None,
        _ => to_bytes(body, room).await.ok(),
    };
    let unread = content.is_none();
    let mut response = match (admitted, content) {
        (Ok(Admitted::First), _) => {
            let pass = format!(
                "{}={}; Path=/; HttpOnly; SameSite=Strict",
                pass_name(desk.port),
                desk.pass
            );
            (
                StatusCode::SEE_OTHER,
                [(header::LOCATION, "/".to_owned()), (header::SET_COOKIE, pass)],
            )
                .into_response()
        }
        (Ok(Admitted::Known), Some(content)) => next.run(Request::from_parts(parts, Body::from(content))).await,
        (Ok(Admitted::Known), None) => (StatusCode::PAYLOAD_TOO_LARGE, "too long\n").into_response(),
        (Err((status, why)), _) => (status, why).into_response(),
    };
    if unread {
        // What is left of it would be taken for the next request.
        response
            .headers_mut()
            .insert(header::CONNECTION, HeaderValue::from_static("close"));
    }
    for (name, value) in ALWAYS {
        // The built page brings a policy of its own: its one script and its one style by their hashes, nothing else.
        if name == header::CONTENT_SECURITY_POLICY && response.headers().contains_key(&name) {
            continue;
        }
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}

type Refusal = (StatusCode, &'static str);

fn admitted(desk: &Desk, method: &Method, uri: &Uri, headers: &HeaderMap) -> Result<Admitted, Refusal> {
    let host = only(headers, &header::HOST).ok_or((StatusCode::BAD_REQUEST, "one Host header is due\n"))?;
    let named = uri.authority().map_or(host, |authority| authority.as_str());
    if !is_ours(host, desk.port) || !is_ours(named, desk.port) {
        return Err((StatusCode::MISDIRECTED_REQUEST, "this server is not of that name\n"));
    }
    if !has_pass(desk, headers) {
        let opens = method == Method::GET && uri.path() == "/" && desk.opens(uri.query().unwrap_or(""));
        return if opens {
            Ok(Admitted::First)
        } else {
            Err((
                StatusCode::FORBIDDEN,
                "this page belongs to the browser that opened its address first: end the program and start it again for another\n",
            ))
        };
    }
    if method == Method::GET || method == Method::HEAD {
        return Ok(Admitted::Known);
    }
    let origin = only(headers, &header::ORIGIN).and_then(|origin| origin.strip_prefix("http://"));
    if !origin.is_some_and(|origin| origin.eq_ignore_ascii_case(host)) {
        return Err((StatusCode::FORBIDDEN, "only this server's own page may ask\n"));
    }
    let secret = only(headers, &HeaderName::from_static(SECRET)).unwrap_or("");
    if !same(secret.as_bytes(), desk.secret.as_bytes()) {
        return Err((
            StatusCode::FORBIDDEN,
            "the page is not the one this server gave out: load it again\n",
        ));
    }
    let length = only(headers, &header::CONTENT_LENGTH).and_then(|length| length.parse::<usize>().ok());
    if length.is_some_and(|length| length > LONGEST_REQUEST) {
        return Err((StatusCode::PAYLOAD_TOO_LARGE, "too long\n"));
    }
    let kind = only(headers, &header::CONTENT_TYPE).unwrap_or("");
    if kind.split(';').next().map(str::trim) != Some("application/json") {
        return Err((StatusCode::UNSUPPORTED_MEDIA_TYPE, "JSON is due\n"));
    }
    Ok(Admitted::Known)
}

/// Cookies are shared by all ports of a host: the name tells several desks apart.
fn pass_name(port: u16) -> String {
    format!("batchwright-{port}")
}

fn has_pass(desk: &Desk, headers: &HeaderMap) -> bool {
    let name = pass_name(desk.port);
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().strip_prefix(name.as_str())?.strip_prefix('='))
        .any(|given| same(given.as_bytes(), desk.pass.as_bytes()))
}

/// The header's value where it is there once, and text.
fn only<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?;
    if all.next().is_some() {
        return None;
    }
    first.to_str().ok()
}

/// Whether a name with its port is this server.
fn is_ours(authority: &str, port: u16) -> bool {
    let (name, given) = authority
        .rsplit_once(':')
        .map_or((authority, Some(80)), |(name, port)| (name, port.parse().ok()));
    given == Some(port) && (name == "127.0.0.1" || name.eq_ignore_ascii_case("localhost"))
}

/// Compares without telling by the time taken how much is right.
pub(super) fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |wrong, (a, b)| wrong | (a ^ b)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_loopback_names_with_the_port_are_ours() {
        for good in ["127.0.0.1:8123", "localhost:8123", "LOCALHOST:8123"] {
            assert!(is_ours(good, 8123), "{good}");
        }
        for bad in [
            "127.0.0.1",
            "127.0.0.1:8124",
            "localhost.example.org:8123",
            "example.org:8123",
            "user@127.0.0.1:8123",
            "127.0.0.1:8123:8123",
            "",
            ":8123",
            "[::1]:8123",
        ] {
            assert!(!is_ours(bad, 8123), "{bad}");
        }
        assert!(is_ours("127.0.0.1", 80));
    }

    #[test]
    fn secrets_are_long_and_differ() {
        let (a, b) = (secret().unwrap(), secret().unwrap());
        assert_eq!(a.len(), 2 * SECRET_BYTES);
        assert_ne!(a, b);
        assert!(same(a.as_bytes(), a.as_bytes()) && !same(a.as_bytes(), b.as_bytes()) && !same(b"", a.as_bytes()));
    }
}
