//! The local page from outside: the program is started, asked over loopback as a browser would ask it, and ended.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

const PROGRAM: &str = env!("CARGO_BIN_EXE_batchwright");

/// What stands around the built page; what is put into it is of no matter here.
const PAGE: &str = include_str!("../../src/page/screen/page.html");

fn shipped(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name);
    std::fs::read_to_string(path).expect("a shipped scenario")
}

/// The running program and its page.
struct Desk {
    program: Child,
    port: u16,
    secret: String,
    /// The browser's cookie, and the address it was got by.
    pass: String,
    entry: String,
    file: PathBuf,
    folder: tempfile::TempDir,
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ended = self.program.kill();
        let _reaped = self.program.wait();
    }
}

/// What came back.
#[derive(Debug)]
struct Reply {
    status: u16,
    head: String,
    body: String,
}

impl Reply {
    fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.body))
    }

    fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (key, value) = line.split_once(':')?;
            key.eq_ignore_ascii_case(name).then(|| value.trim())
        })
    }
}

/// Sends a request as it stands and reads all that comes.
fn send(port: u16, request: &str) -> Reply {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).expect("the server listens");
    stream
        .set_read_timeout(Some(Duration::from_secs(120)))
        .expect("a timeout");
    stream.write_all(request.as_bytes()).expect("the request is taken");
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).expect("an answer");
    let text = String::from_utf8(bytes).expect("text");
    let (head, body) = text
        .split_once("\r\n\r\n")
        .unwrap_or_else(|| panic!("no answer: {text:?}"));
    let status = head
        .split(' ')
        .nth(1)
        .and_then(|s| s.parse().ok())
        .expect("the test's own part works");
    Reply {
        status,
        head: head.to_owned(),
        body: body.to_owned(),
    }
}

impl Desk {
    fn of(text: &str) -> Self {
        Self::named("scenario.toml", text)
    }

    fn named(name: &str, text: &str) -> Self {
        let folder = tempfile::tempdir().expect("the test's own part works");
        std::fs::write(folder.path().join(name), text).expect("the test's own part works");
        Self::at(folder, name)
    }

    /// Of a file that is there.
    fn at(folder: tempfile::TempDir, name: &str) -> Self {
        let file = folder.path().join(name);
        let page = folder.path().join("page.html");
        std::fs::write(&page, PAGE).expect("the test's own part works");
        let mut program = Command::new(PROGRAM)
            .arg("desk")
            .arg(&file)
            .arg("--page")
            .arg(&page)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the test's own part works");
        let mut lines = BufReader::new(program.stdout.take().expect("the test's own part works")).lines();
        let (port, entry) = lines
            .find_map(|line| {
                let line = line.expect("the test's own part works");
                let (port, path) = line.trim().strip_prefix("http://127.0.0.1:")?.split_once('/')?;
                Some((port.parse().ok()?, format!("/{path}")))
            })
            .expect("the address is printed");
        // The pipe is read to its end, so that the program is never held up by it.
        std::thread::spawn(move || lines.for_each(drop));
        let mut desk = Self {
            program,
            port,
            secret: String::new(),
            pass: String::new(),
            entry,
            file,
            folder,
        };
        let entered = desk.get(&desk.entry);
        assert_eq!((entered.status, entered.header("Location")), (303, Some("/")));
        let cookie = entered.header("Set-Cookie").expect("a pass").to_owned();
        assert!(cookie.ends_with("; Path=/; HttpOnly; SameSite=Strict"), "{cookie}");
        desk.pass = cookie.split(';').next().expect("a cookie").to_owned();
        let page = desk.get("/");
        let from = page
            .body
            .find("name=\"secret\" content=\"")
            .expect("the test's own part works")
            + 23;
        desk.secret = page.body[from..]
            .split('"')
            .next()
            .expect("the test's own part works")
            .to_owned();
        assert!(desk.secret.len() >= 32);
        desk
    }

    fn get(&self, path: &str) -> Reply {
        send(
            self.port,
            &format!(
                "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nCookie: a=b; {}\r\nConnection: close\r\n\r\n",
                self.port, self.pass
            ),
        )
    }

    /// What the page's script sends, with some lines of the head exchanged: a name with no value is left out.
    fn post_with(&self, path: &str, body: &str, instead: &[(&str, &str)]) -> Reply {
        let own = format!("127.0.0.1:{}", self.port);
        let origin = format!("http://{own}");
        let length = body.len().to_string();
        let mut head: Vec<(&str, &str)> = vec![
            ("Host", &own),
            ("Origin", &origin),
            ("Cookie", &self.pass),
            ("Batchwright-Secret", &self.secret),
            ("Content-Type", "application/json"),
            ("Content-Length", &length),
            ("Connection", "close"),
        ];
        for (name, value) in instead {
            match head.iter_mut().find(|(known, _)| known == name) {
                Some(line) => line.1 = value,
                None => head.push((name, value)),
            }
        }
        let head: String = head
            .iter()
            .filter(|(_, value)| !value.is_empty())
            .map(|(name, value)| format!("{name}: {value}\r\n"))
            .collect();
        send(self.port, &format!("POST {path} HTTP/1.1\r\n{head}\r\n{body}"))
    }

    fn post(&self, path: &str, content: &Value) -> Reply {
        self.post_with(path, &content.to_string(), &[])
    }

    fn saved(&self) -> String {
        std::fs::read_to_string(&self.file).expect("the test's own part works")
    }
}

// ---------------------------------------------------------------------------------------------------------------------
// Who is let in, beside the page

/// Another user of this machine can reach the port, and knows neither the key of the address, once it is used, nor the cookie.
#[test]
fn nobody_else_on_this_machine_is_let_in() {
    let mut desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let (pass, before) = (desk.pass.clone(), desk.saved());
    let foreign = [
        "".to_owned(),
        pass.to_uppercase(),
        format!("{pass}0"),
        format!("x{pass}"),
    ];
    for other in foreign {
        desk.pass = other;
        let entry = desk.entry.clone();
        for path in ["/", "/file", "/?key=", "/?key=0", &entry] {
            let reply = desk.get(path);
            assert_eq!(reply.status, 403, "{path}");
            assert!(!reply.body.contains(&desk.secret) && reply.header("Set-Cookie").is_none());
        }
        let save = json!({ "text": "x", "saved": before });
        for path in ["/file", "/save"] {
            assert_eq!(desk.post(path, &save).status, 403, "{path}");
        }
    }
    assert_eq!(desk.saved(), before);
    desk.pass = pass;
    assert_eq!(desk.get("/").status, 200);
}

/// A refused request's content is not taken for the next request on the same connection.
#[test]
fn a_connection_goes_on_after_a_refusal() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let body = "GET /evil HTTP/1.1";
    let (port, length) = (desk.port, body.len());
    let reply = send(
        port,
        &format!(
            "POST /save HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Length: {length}\r\n\r\n{body}GET / HTTP/1.1\r\n\
             Host: 127.0.0.1:{port}\r\nCookie: {}\r\nConnection: close\r\n\r\n",
            desk.pass
        ),
    );
    assert_eq!(reply.status, 403);
    assert!(
        reply.body.contains("HTTP/1.1 200 OK") && reply.body.contains("<main"),
        "{}",
        reply.body
    );
}

// ---------------------------------------------------------------------------------------------------------------------
// Saving

#[test]
fn what_is_saved_is_the_text_byte_for_byte() {
    for (mark, end) in [("", "\n"), ("\u{feff}", "\r\n")] {
        let text = format!("{mark}{}", shipped("oak-peg-rail.toml").replace('\n', end));
        let desk = Desk::of(&text);
        let wanted = text.replacen("price         = 62 ", "price         = 64.50 ", 1);
        assert_ne!(wanted, text);
        let beside = || std::fs::read_dir(desk.file.parent().unwrap()).unwrap().count();
        let before = beside();
        let reply = desk.post("/save", &json!({ "text": wanted, "saved": text }));
        assert_eq!(reply.status, 200, "{reply:?}");
        assert_eq!(desk.saved(), wanted);
        assert_eq!(reply.json()["text"], wanted);
        // And loaded again it is what was written.
        assert_eq!(desk.post("/file", &json!({})).json()["text"], wanted);
        assert_eq!(beside(), before, "nothing else is left in the folder");
    }
}

#[test]
fn a_file_that_something_else_changed_is_not_overwritten() {
    let text = shipped("oak-peg-rail.toml");
    let desk = Desk::of(&text);
    let theirs = text.replace("runs    = 4", "runs    = 5");
    assert_ne!(theirs, text);
    std::fs::write(&desk.file, &theirs).unwrap();
    let dearer = |text: &str| text.replacen("price         = 62 ", "price         = 64 ", 1);
    let reply = desk.post("/save", &json!({ "text": dearer(&text), "saved": text }));
    assert_eq!(reply.status, 409);
    let said = reply.json();
    assert_eq!(said["changed"], true);
    assert!(said["said"].as_str().unwrap().contains("changed by something else"));
    assert_eq!(desk.saved(), theirs);
    // Loaded again, it can be saved.
    let text = desk.post("/file", &json!({})).json()["text"]
        .as_str()
        .unwrap()
        .to_owned();
    assert_eq!(text, theirs);
    let reply = desk.post("/save", &json!({ "text": dearer(&text), "saved": text }));
    assert_eq!(reply.status, 200);
    assert!(desk.saved().contains("price         = 64 ") && desk.saved().contains("runs    = 5"));
}

#[test]
fn with_faults_nothing_is_saved() {
    let text = shipped("oak-peg-rail.toml");
    let desk = Desk::of(&text);
    for price in ["\"sixty\" ", "62\n[evil]\nx = 1 ", "-1 "] {
        let wrong = text.replacen("price         = 62 ", &format!("price         = {price}"), 1);
        let reply = desk.post("/save", &json!({ "text": wrong, "saved": text }));
        assert_eq!(reply.status, 409, "{price}");
        assert!(reply.json()["said"].as_str().unwrap().len() > 10);
        assert_eq!(desk.saved(), text);
    }
}

#[cfg(unix)]
#[test]
fn only_the_named_file_is_written_and_a_link_stays_a_link() {
    let folder = tempfile::tempdir().unwrap();
    let text = shipped("oak-peg-rail.toml");
    let target = folder.path().join("target.toml");
    std::fs::write(&target, &text).unwrap();
    let desk = Desk::of(&text);
    std::fs::remove_file(&desk.file).unwrap();
    std::os::unix::fs::symlink(&target, &desk.file).unwrap();
    let dearer = text.replacen("price         = 62 ", "price         = 64 ", 1);
    // A name in the request is no name of a file.
    let content = json!({ "text": dearer, "saved": text, "file": "/tmp/other.toml", "path": "../x" });
    assert_eq!(desk.post("/save", &content).status, 200);
    assert!(std::fs::symlink_metadata(&desk.file).unwrap().is_symlink());
    assert!(
        std::fs::read_to_string(&target)
            .unwrap()
            .contains("price         = 64 ")
    );
}

// ---------------------------------------------------------------------------------------------------------------------
// Who is let in

/// RFC 9110, 7.2 and 15.5.20: a request for another authority is misdirected; DNS rebinding comes with the foreign name. RFC
/// 6454, 7 and WHATWG Fetch, 3.2: every POST of a browser says its origin. OWASP, Cross-Site Request Forgery Prevention
/// Cheat Sheet: a token in a header of its own. RFC 9110, 15.5.14 and 15.5.16: too large, wrong kind.
#[test]
fn whoever_is_not_the_page_is_refused() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let text = desk.saved();
    let port = desk.port;
    let body = json!({ "text": text.replacen("= 62 ", "= 1 ", 1), "saved": text }).to_string();
    let (other_port, foreign) = (format!("127.0.0.1:{}", port ^ 1), format!("rebound.example:{port}"));
    let foreign_origin = format!("http://{foreign}");
    let other_origin = format!("http://{other_port}");
    let secure = format!("https://127.0.0.1:{port}");
    let mixed = format!("http://localhost:{port}");
    let almost = format!("{}0", &desk.secret[..desk.secret.len() - 1]);
    let almost = if almost == desk.secret {
        format!("{}1", &desk.secret[..desk.secret.len() - 1])
    } else {
        almost
    };
    let refused: [(&[(&str, &str)], u16); 15] = [
        (&[("Host", &foreign)], 421),
        (&[("Host", &foreign), ("Origin", &foreign_origin)], 421),
        (&[("Host", "127.0.0.1")], 421),
        (&[("Host", &other_port)], 421),
        (&[("Host", "")], 400),
        (&[("Origin", "")], 403),
        (&[("Origin", "null")], 403),
        (&[("Origin", &foreign_origin)], 403),
        (&[("Origin", &other_origin)], 403),
        (&[("Origin", &secure)], 403),
        (&[("Origin", &mixed)], 403),
        (&[("Batchwright-Secret", "")], 403),
        (&[("Batchwright-Secret", &almost)], 403),
        (&[("Content-Type", "text/plain")], 415),
        (&[("Content-Length", "99999999")], 413),
    ];
    for path in ["/save", "/file"] {
        for (instead, status) in refused {
            let reply = desk.post_with(path, &body, instead);
            assert_eq!(reply.status, status, "{path} {instead:?}: {reply:?}");
            assert!(reply.header("Access-Control-Allow-Origin").is_none());
        }
    }
    assert_eq!(desk.saved(), text, "nothing was written");
    // By its other name it is the same server.
    let own = format!("localhost:{port}");
    assert_eq!(
        desk.post_with("/file", "{}", &[("Host", &own), ("Origin", &mixed)])
            .status,
        200
    );
}

/// RFC 9110, 15.5.5 and 15.5.6: what is not there, and what is asked the wrong way.
#[test]
fn what_is_not_the_pages_is_not_given_out() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let port = desk.port;
    let foreign = format!("rebound.example:{port}");
    for path in ["/save", "/file"] {
        assert_eq!(desk.get(path).status, 405, "{path} is asked by POST only");
    }
    for path in [
        "/nothing",
        "/../Cargo.toml",
        "/scenario.toml",
        "/%2e%2e/x",
        "//",
        "/index.html",
    ] {
        assert_eq!(desk.get(path).status, 404, "{path}");
    }
    let rebound = send(
        port,
        &format!("GET / HTTP/1.1\r\nHost: {foreign}\r\nConnection: close\r\n\r\n"),
    );
    assert_eq!(rebound.status, 421);
    assert!(!rebound.body.contains(&desk.secret));
    let pass = &desk.pass;
    // A browser asks beforehand whether another origin may send such headers (WHATWG Fetch, 3.3.2): it may not.
    let asked = format!(
        "OPTIONS /save HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {pass}\r\nOrigin: http://{foreign}\r\n\
         Access-Control-Request-Method: POST\r\nAccess-Control-Request-Headers: batchwright-secret\r\nConnection: close\r\n\r\n"
    );
    let reply = send(port, &asked);
    assert_eq!(reply.status, 403);
    assert!(!reply.head.to_ascii_lowercase().contains("access-control"));
    // What is not understood is no answer either.
    for nonsense in ["", "{", "[]", "{\"text\":1}", "{\"text\":\"\\ud800\"}"] {
        assert_eq!(desk.post_with("/save", nonsense, &[]).status, 400, "{nonsense}");
    }
}

/// Content Security Policy Level 3: nothing from elsewhere, no script within the page, no frame around it. RFC 9110, 8.3 and
/// WHATWG Fetch, 3.6: the kind is what is said, `nosniff`.
#[test]
fn everything_is_sent_with_a_strict_policy_and_loads_nothing_from_elsewhere() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    for (path, kind) in [("/", "text/html"), ("/nothing", "text/plain")] {
        let reply = desk.get(path);
        assert!(reply.header("Content-Type").unwrap().starts_with(kind), "{path}");
        let policy = reply.header("Content-Security-Policy").unwrap();
        assert!(
            policy.starts_with("default-src 'none'") && policy.contains("frame-ancestors 'none'"),
            "{policy}"
        );
        assert!(
            !policy.contains("'unsafe") && !policy.contains('*') && !policy.contains("http"),
            "{policy}"
        );
        assert_eq!(reply.header("X-Content-Type-Options"), Some("nosniff"));
        assert_eq!(reply.header("Cache-Control"), Some("no-store"));
        assert_eq!(reply.header("Referrer-Policy"), Some("no-referrer"));
        assert!(reply.header("Access-Control-Allow-Origin").is_none());
        assert!(!reply.body.contains("://"), "{path} names another address");
        assert!(
            !reply.body.contains(" style=") && !reply.body.contains("onclick"),
            "{path}"
        );
    }
}

/// OWASP, Cross Site Scripting Prevention Cheat Sheet: what somebody wrote is text in the page.
#[test]
fn names_with_markup_in_them_stay_text() {
    let evil = "<script>alert(1)<!-- \\\" '&amp;";
    let text = shipped("oak-peg-rail.toml")
        .replace("\"Oak peg rail, five pegs\"", &format!("\"{evil}\""))
        .replace("\"drill\"", &format!("\"{evil}\""));
    let desk = Desk::named("<script>alert(1)<'&.toml", &text);
    let page = desk.get("/").body;
    assert!(!page.contains("<script>alert"), "{page}");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;&#39;&amp;.toml"), "{page}");
}

// ---------------------------------------------------------------------------------------------------------------------
// Beginning and end

/// A browser keeps logs by address (HTML Living Standard, 7.1.1: an origin has scheme, host and port): the same file comes back at the same one.
#[test]
fn a_file_has_a_port_of_its_own() {
    let mut desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let first = desk.port;
    assert!(first >= 49_152, "{first}");
    // While its page is there, another one of it stands elsewhere.
    let beside = Command::new(PROGRAM)
        .args(["desk", "scenario.toml", "--page", "page.html"])
        .current_dir(desk.folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let mut beside = beside.expect("the test's own part works");
    let lines = BufReader::new(beside.stderr.take().expect("piped")).lines();
    let said = lines.map_while(Result::ok).next().unwrap_or_default();
    assert!(
        said.contains(&format!("port {first}, where the page of this file stands, is taken")),
        "{said}"
    );
    let _ended = beside.kill();
    let _reaped = beside.wait();
    let _ended = desk.program.kill();
    let _reaped = desk.program.wait();
    let folder = std::mem::replace(
        &mut desk.folder,
        tempfile::tempdir().expect("the test's own part works"),
    );
    std::fs::copy(&desk.file, folder.path().join("other.toml")).expect("copies");
    let mut again = Desk::at(folder, "scenario.toml");
    assert_eq!(again.port, first);
    let folder = std::mem::replace(
        &mut again.folder,
        tempfile::tempdir().expect("the test's own part works"),
    );
    assert_ne!(Desk::at(folder, "other.toml").port, first);
}

#[cfg(unix)]
#[test]
fn it_ends_on_a_signal_and_its_port_is_free_again() {
    for signal in ["-INT", "-TERM"] {
        let mut desk = Desk::of(&shipped("oak-peg-rail.toml"));
        // A connection that is kept open holds nothing up.
        let idle = TcpStream::connect(("127.0.0.1", desk.port)).unwrap();
        let told = Command::new("kill")
            .args([signal, &desk.program.id().to_string()])
            .status()
            .unwrap();
        assert!(told.success());
        let since = Instant::now();
        let status = loop {
            if let Some(status) = desk.program.try_wait().unwrap() {
                break status;
            }
            assert!(since.elapsed() < Duration::from_secs(60), "{signal}: it goes on");
            std::thread::sleep(Duration::from_millis(20));
        };
        assert_eq!(status.code(), Some(0), "{signal}");
        assert!(TcpStream::connect(("127.0.0.1", desk.port)).is_err());
        drop(idle);
    }
}

#[test]
fn a_scenario_with_faults_opens_and_what_is_no_scenario_does_not() {
    let desk = Desk::of("title = \"Rail\"\ntarget = 32\n");
    assert_eq!(desk.post("/file", &json!({})).json()["text"], desk.saved());

    let folder = tempfile::tempdir().unwrap();
    let picture = folder.path().join("picture.toml");
    std::fs::write(&picture, [0x89, b'P', b'N', b'G', 0xff]).unwrap();
    let missing = folder.path().join("missing.toml");
    let taken = desk.port.to_string();
    let (file, page) = (desk.file.to_str().unwrap(), desk.file.with_file_name("page.html"));
    let page = page.to_str().unwrap();
    for (arguments, code, word) in [
        (vec!["desk", "-"], 2, "standard input"),
        (vec!["desk", picture.to_str().unwrap()], 2, "UTF-8"),
        (vec!["desk", missing.to_str().unwrap()], 1, "no such file"),
        (vec!["desk", folder.path().to_str().unwrap()], 1, "folder"),
        (vec!["desk", file, "--page", page, "--port", &taken], 1, "port"),
        (vec!["desk", file, "--port", "99999"], 2, "port"),
        (vec!["desk", file, "--page", file], 2, "this is no page"),
        (
            vec!["desk", file, "--page", missing.to_str().unwrap()],
            1,
            "no such file",
        ),
    ] {
        let out = Command::new(PROGRAM).args(&arguments).output().unwrap();
        assert_eq!(out.status.code(), Some(code), "{arguments:?}");
        let said = String::from_utf8_lossy(&out.stderr).to_lowercase();
        assert!(said.contains(&word.to_lowercase()), "{arguments:?}: {said}");
        assert!(out.stdout.is_empty());
    }
}
