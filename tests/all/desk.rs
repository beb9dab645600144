//! The local page from outside: the program is started, asked over loopback as a browser would ask it, and ended.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

const PROGRAM: &str = env!("CARGO_BIN_EXE_batchwright");

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
    _folder: tempfile::TempDir,
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
        let file = folder.path().join(name);
        std::fs::write(&file, text).expect("the test's own part works");
        let mut program = Command::new(PROGRAM)
            .arg("desk")
            .arg(&file)
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
            _folder: folder,
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

    /// Asks about `text` with `typed` in it, against what is saved.
    fn ask(&self, text: &str, typed: &Value, more: &Value) -> Value {
        let mut content = json!({
            "number": 7, "text": text, "typed": typed, "saved": self.saved(), "question": "sweep", "json": true,
        });
        for (key, value) in more.as_object().expect("the test's own part works") {
            content[key] = value.clone();
        }
        let reply = self.post("/answer", &content);
        assert_eq!(reply.status, 200, "{reply:?}");
        reply.json()
    }

    fn saved(&self) -> String {
        std::fs::read_to_string(&self.file).expect("the test's own part works")
    }
}

fn typed(section: &str, entry: Option<usize>, key: &str, written: &str) -> Value {
    json!({ "at": { "section": section, "entry": entry, "key": key }, "written": written })
}

/// What a command prints about the desk's file.
fn command(desk: &Desk, arguments: &[&str]) -> String {
    let out = Command::new(PROGRAM)
        .args([arguments[0], desk.file.to_str().expect("the test's own part works")])
        .args(&arguments[1..])
        .output()
        .expect("the test's own part works");
    assert!(
        out.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout).expect("the test's own part works")
}

// ---------------------------------------------------------------------------------------------------------------------
// Answers

#[test]
fn every_answer_is_that_of_its_command() {
    for (file, questions) in [
        (
            "oak-peg-rail.toml",
            &["sweep", "floor", "stress", "drivers", "jig", "calendar"][..],
        ),
        ("spinning-tops.toml", &["season"]),
        ("plant-labels.toml", &["steady"]),
    ] {
        let desk = Desk::of(&shipped(file));
        let text = desk.saved();
        for question in questions {
            let answer = desk.ask(&text, &json!([]), &json!({ "question": question }));
            assert!(
                answer["questions"].as_array().unwrap().contains(&json!(question)),
                "{question}"
            );
            assert_eq!(answer["as_saved"], true);
            assert_eq!(answer["against"], json!([]));
            let said = answer["answer"]["json"].as_str().unwrap();
            assert_eq!(
                said,
                command(&desk, &[question, "--format", "json"]),
                "{file}: {question}"
            );
            let opening = answer["answer"]["opening"].as_str().unwrap();
            assert!(opening.len() > 40 && opening.contains(' '), "{opening}");
        }
    }
}

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
        for path in ["/", "/desk.js", "/icon.svg", "/?key=", "/?key=0", &entry] {
            let reply = desk.get(path);
            assert_eq!(reply.status, 403, "{path}");
            assert!(!reply.body.contains(&desk.secret) && reply.header("Set-Cookie").is_none());
        }
        let save = json!({ "text": "x", "saved": before, "typed": [] });
        for path in ["/file", "/answer", "/save"] {
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
            "POST /save HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Length: {length}\r\n\r\n{body}GET /icon.svg HTTP/1.1\r\n\
             Host: 127.0.0.1:{port}\r\nCookie: {}\r\nConnection: close\r\n\r\n",
            desk.pass
        ),
    );
    assert_eq!(reply.status, 403);
    assert!(
        reply.body.contains("HTTP/1.1 200 OK") && reply.body.contains("<svg"),
        "{}",
        reply.body
    );
}

#[test]
fn a_quick_answer_is_that_of_its_command_with_fewer_runs() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let text = desk.saved();
    for question in ["sweep", "floor", "stress", "drivers", "jig", "calendar"] {
        let answer = desk.ask(
            &text,
            &json!([]),
            &json!({ "question": question, "quick": true, "size": 12 }),
        );
        let runs = answer["answer"]["trials"].as_u64().unwrap();
        let usual = if matches!(question, "sweep" | "floor") {
            50_000
        } else {
            20_000
        };
        assert!((100..usual).contains(&runs), "{question}: {runs}");
        let runs = runs.to_string();
        let mut arguments = vec![question, "--format", "json", "--trials", &runs];
        if question != "sweep" {
            arguments.extend(["--size", "12"]);
        }
        let said = answer["answer"]["json"].as_str().unwrap();
        assert_eq!(said, command(&desk, &arguments), "{question}");
    }
}

#[test]
fn a_quick_answer_has_the_runs_it_is_asked_for() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let text = desk.saved();
    let answer = desk.ask(&text, &json!([]), &json!({ "quick": true, "runs": 300 }));
    assert_eq!(answer["answer"]["trials"], 300);
    assert!(answer["answer"]["quick_runs"].as_u64().unwrap() >= 100);
    for runs in [0, 99, 50_001] {
        let asked =
            json!({ "number": 1, "text": text, "saved": text, "question": "sweep", "quick": true, "runs": runs });
        assert_eq!(desk.post("/answer", &asked).status, 400, "{runs}");
    }
}

#[test]
fn a_typed_value_moves_the_answer_as_set_does_and_the_difference_is_told() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let text = desk.saved();
    let typed = json!([
        typed("sale", None, "price", "70"),
        typed("step", Some(1), "each", "4 / 6 / 11 min")
    ]);
    let answer = desk.ask(&text, &typed, &json!({ "size": 12 }));
    let set = [
        "--set",
        "sale.price=70",
        "--set",
        "step.mill blanks.each=4 / 6 / 11 min",
    ];
    let mut arguments = vec!["sweep", "--format", "json"];
    arguments.extend(set);
    let alone: Value = serde_json::from_str(&command(&desk, &arguments)).unwrap();
    let said: Value = serde_json::from_str(answer["answer"]["json"].as_str().unwrap()).unwrap();
    assert_eq!(said, alone);
    assert_eq!(answer["as_saved"], false);
    // Both hours stand in the difference, each to the cent as its own command has it.
    let saved: Value = serde_json::from_str(&command(&desk, &["sweep", "--format", "json"])).unwrap();
    let rate = |sweep: &Value| {
        let size = sweep["sizes"]
            .as_array()
            .unwrap()
            .iter()
            .find(|s| s["size"] == 12)
            .unwrap();
        format!("{:.2} EUR", size["rate"]["long_run"].as_f64().unwrap())
    };
    let against = answer["against"][0].as_str().unwrap();
    assert!(
        against.contains(&rate(&saved)) && against.contains(&rate(&alone)),
        "{against}"
    );
    assert_ne!(rate(&saved), rate(&alone));
    // Nothing is written by asking.
    assert_eq!(desk.saved(), text);
}

#[test]
fn what_a_scenario_cannot_be_asked_is_told_in_a_sentence() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let text = desk.saved();
    for question in ["season", "steady"] {
        let answer = desk.ask(&text, &json!([]), &json!({ "question": question }));
        assert!(answer["cannot"].as_str().unwrap().contains(&format!("[{question}]")));
        assert!(answer["answer"].is_null());
        assert!(!answer["questions"].as_array().unwrap().contains(&json!(question)));
    }
}

#[test]
fn the_form_has_every_value_with_its_numbers_and_its_comment() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let answer = desk.ask(&desk.saved(), &json!([]), &json!({ "quick": true }));
    let groups = answer["form"].as_array().unwrap();
    let group = |section: &str, name: &str| {
        groups
            .iter()
            .find(|g| g["section"] == section && (name.is_empty() || g["name"] == name))
            .unwrap_or_else(|| panic!("{section} {name}"))
    };
    let field = |group: &Value, key: &str| {
        let fields = group["fields"].as_array().unwrap();
        fields.iter().find(|f| f["key"] == key).unwrap().clone()
    };
    let each = field(group("step", "drill"), "each");
    assert_eq!(each["written"], "2 / 3 / 5 min");
    assert_eq!(each["figures"]["between"], json!(["", " / ", " / ", " min"]));
    assert_eq!(field(group("sale", ""), "price")["written"], "62");
    assert_eq!(
        field(group("sale", ""), "price")["comment"],
        "what a buyer pays for a rail, tax included"
    );
    assert_eq!(field(group("", ""), "confidence")["figures"]["top"], 100.0);
    assert!(field(group("batch", ""), "sizes")["figures"].is_null());
}

#[test]
fn faults_come_all_at_once_each_with_place_and_cure() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/invalid");
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    let (mut at_fields, mut all) = (0, 0);
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let Ok(text) = std::fs::read_to_string(&path) else {
            continue;
        };
        // Files that are faulty only together with `--set` are whole here.
        let Err(faults) = batchwright_core::scenario::read("scenario.toml", &text, &[]) else {
            continue;
        };
        let answer = desk.ask(&text, &json!([]), &json!({ "quick": true }));
        let told = answer["faults"].as_array().unwrap();
        assert_eq!(told.len(), faults.count(), "{}", path.display());
        assert!(answer["answer"].is_null());
        for (told, fault) in told.iter().zip(&faults) {
            let (line, column) = faults.line_and_column(fault);
            assert_eq!(told["what"], fault.what());
            assert_eq!(told["cure"], fault.cure());
            assert_eq!(
                (told["line"].as_u64(), told["column"].as_u64()),
                (Some(line as u64), Some(column as u64))
            );
            assert!(!fault.cure().is_empty());
            all += 1;
            at_fields += usize::from(told["at"]["key"].as_str().is_some_and(|key| !key.is_empty()));
        }
    }
    // What is missing, or a section as a whole, has no field to stand at; most faults have one.
    assert!(
        all > 100 && at_fields * 3 > all * 2,
        "{at_fields} of {all} faults stand at a field"
    );
    // Two fields at once, each at its own.
    let text = shipped("oak-peg-rail.toml");
    let wrong = json!([
        typed("sale", None, "fee", "650 %"),
        typed("step", Some(2), "each", "5 / 3 min")
    ]);
    let answer = desk.ask(&text, &wrong, &json!({}));
    let at: Vec<&Value> = answer["faults"].as_array().unwrap().iter().map(|f| &f["at"]).collect();
    assert!(
        at.contains(&&json!({ "section": "sale", "entry": null, "key": "fee" })),
        "{at:?}"
    );
    assert!(
        at.contains(&&json!({ "section": "step", "entry": 2, "key": "each" })),
        "{at:?}"
    );
}

#[test]
fn many_at_once_get_each_their_own_answer() {
    let desk = Desk::of(&shipped("card-wallet.toml"));
    let text = desk.saved();
    let price = |k: u64| json!([typed("sale", None, "price", &format!("{}", 40 + k))]);
    let alone: Vec<Value> = (0..4)
        .map(|k| desk.ask(&text, &price(k), &json!({ "quick": true }))["answer"]["json"].clone())
        .collect();
    assert_ne!(alone[0], alone[1]);
    std::thread::scope(|scope| {
        for k in 0..16u64 {
            let (desk, text, alone) = (&desk, &text, &alone);
            scope.spawn(move || {
                let quick = k % 4 != 3;
                let answer = desk.ask(text, &price(k % 4), &json!({ "quick": quick, "number": k }));
                assert_eq!(answer["number"], k);
                if quick {
                    assert_eq!(answer["answer"]["json"], alone[(k % 4) as usize], "{k}");
                } else {
                    assert_eq!(answer["answer"]["trials"], 50_000);
                }
            });
        }
    });
}

// ---------------------------------------------------------------------------------------------------------------------
// Saving

#[test]
fn saving_exchanges_the_changed_values_and_keeps_every_other_byte() {
    for (mark, end) in [("", "\n"), ("\u{feff}", "\r\n")] {
        let text = format!("{mark}{}", shipped("oak-peg-rail.toml").replace('\n', end));
        let desk = Desk::of(&text);
        let typed = json!([
            typed("sale", None, "price", "64.50"),
            typed("step", Some(3), "setup", "3 / 5 / 9 min")
        ]);
        let reply = desk.post("/save", &json!({ "text": text, "typed": typed, "saved": text }));
        assert_eq!(reply.status, 200, "{reply:?}");
        let wanted = text
            .replacen("price         = 62 ", "price         = 64.50 ", 1)
            .replacen("setup  = \"3 / 4 / 8 min\"", "setup  = \"3 / 5 / 9 min\"", 1);
        assert_ne!(wanted, text);
        assert_eq!(desk.saved(), wanted);
        assert_eq!(reply.json()["text"], wanted);
        // And loaded again it is what was written.
        assert_eq!(desk.post("/file", &json!({})).json()["text"], wanted);
        let beside = std::fs::read_dir(desk.file.parent().unwrap()).unwrap().count();
        assert_eq!(beside, 1, "nothing else is left in the folder");
    }
}

/// Two values for one place: neither is taken.
#[test]
fn a_value_typed_twice_is_refused() {
    let text = shipped("oak-peg-rail.toml");
    let desk = Desk::of(&text);
    let twice = json!([typed("sale", None, "price", "64.50"), typed("sale", None, "price", "7")]);
    let reply = desk.post("/save", &json!({ "text": text, "typed": twice, "saved": text }));
    assert!(reply.body.contains("typed twice"), "{reply:?}");
    assert_eq!(desk.saved(), text);
    let content = json!({
        "number": 1, "text": text, "typed": twice, "saved": text, "question": "sweep", "json": true,
    });
    let answer = desk.post("/answer", &content);
    assert!(answer.body.contains("typed twice"), "{answer:?}");
}

#[test]
fn a_file_that_something_else_changed_is_not_overwritten() {
    let text = shipped("oak-peg-rail.toml");
    let desk = Desk::of(&text);
    let theirs = text.replace("runs    = 4", "runs    = 5");
    assert_ne!(theirs, text);
    std::fs::write(&desk.file, &theirs).unwrap();
    let typed = json!([typed("sale", None, "price", "64")]);
    let reply = desk.post("/save", &json!({ "text": text, "typed": typed, "saved": text }));
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
    let reply = desk.post("/save", &json!({ "text": text, "typed": typed, "saved": text }));
    assert_eq!(reply.status, 200);
    assert!(desk.saved().contains("price         = 64 ") && desk.saved().contains("runs    = 5"));
}

#[test]
fn with_faults_nothing_is_saved() {
    let text = shipped("oak-peg-rail.toml");
    let desk = Desk::of(&text);
    for typed in [
        json!([typed("sale", None, "price", "sixty")]),
        json!([typed("sale", None, "price", "62\n[evil]\nx = 1")]),
        json!([typed("sale", None, "nothing", "1")]),
    ] {
        let reply = desk.post("/save", &json!({ "text": text, "typed": typed, "saved": text }));
        assert_eq!(reply.status, 409, "{typed}");
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
    let typed = json!([typed("sale", None, "price", "64")]);
    // A name in the request is no name of a file.
    let content = json!({ "text": text, "typed": typed, "saved": text, "file": "/tmp/other.toml", "path": "../x" });
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
    let body = json!({ "text": text, "typed": [typed("sale", None, "price", "1")], "saved": text }).to_string();
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
    for path in ["/save", "/answer", "/file"] {
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

    for path in ["/save", "/answer", "/file"] {
        assert_eq!(desk.get(path).status, 405, "{path} is asked by POST only");
    }
    for path in [
        "/nothing",
        "/../Cargo.toml",
        "/scenario.toml",
        "/%2e%2e/x",
        "//",
        "/desk.js/x",
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
        "OPTIONS /save HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {pass}\r\nOrigin: {foreign_origin}\r\n\
         Access-Control-Request-Method: POST\r\nAccess-Control-Request-Headers: batchwright-secret\r\nConnection: close\r\n\r\n"
    );
    let reply = send(port, &asked);
    assert_eq!(reply.status, 403);
    assert!(!reply.head.to_ascii_lowercase().contains("access-control"));
    // What is not understood is no answer either.
    for nonsense in ["", "{", "[]", "{\"number\":1}", "{\"text\":\"\\ud800\"}"] {
        assert_eq!(desk.post_with("/answer", nonsense, &[]).status, 400, "{nonsense}");
    }
    let zero = json!({ "number": 1, "text": text, "saved": text, "question": "floor", "size": 0 });
    assert_eq!(desk.post("/answer", &zero).status, 400);
}

/// Content Security Policy Level 3: nothing from elsewhere, no script within the page, no frame around it. RFC 9110, 8.3 and
/// WHATWG Fetch, 3.6: the kind is what is said, `nosniff`.
#[test]
fn everything_is_sent_with_a_strict_policy_and_loads_nothing_from_elsewhere() {
    let desk = Desk::of(&shipped("oak-peg-rail.toml"));
    for (path, kind) in [
        ("/", "text/html"),
        ("/desk.js", "text/javascript"),
        ("/desk.css", "text/css"),
        ("/style.css", "text/css"),
        ("/icon.svg", "image/svg+xml"),
        ("/nothing", "text/plain"),
    ] {
        let reply = desk.get(path);
        assert!(reply.header("Content-Type").unwrap().starts_with(kind), "{path}");
        let policy = reply.header("Content-Security-Policy").unwrap();
        assert!(
            policy.starts_with("default-src 'none'") && policy.contains("frame-ancestors 'none'"),
            "{policy}"
        );
        assert!(
            !policy.contains("unsafe") && !policy.contains('*') && !policy.contains("http"),
            "{policy}"
        );
        assert_eq!(reply.header("X-Content-Type-Options"), Some("nosniff"));
        assert_eq!(reply.header("Cache-Control"), Some("no-store"));
        assert_eq!(reply.header("Referrer-Policy"), Some("no-referrer"));
        assert!(reply.header("Access-Control-Allow-Origin").is_none());
        if path != "/icon.svg" {
            assert!(!reply.body.contains("://"), "{path} names another address");
        }
        assert!(
            !reply.body.contains(" style=") && !reply.body.contains("onclick"),
            "{path}"
        );
    }
    // The answer's own markup keeps the policy too.
    let answer = desk.ask(&desk.saved(), &json!([]), &json!({ "quick": true }));
    let html = answer["answer"]["html"].as_str().unwrap();
    assert!(!html.contains(" style=") && !html.contains("<style") && !html.contains("<script"));
}

/// OWASP, Cross Site Scripting Prevention Cheat Sheet: what somebody wrote is text, in the page and in the answer.
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
    for question in ["sweep", "drivers", "stress", "jig", "calendar"] {
        let answer = desk.ask(&text, &json!([]), &json!({ "quick": true, "question": question }));
        let html = answer["answer"]["html"].as_str().unwrap_or_else(|| panic!("{answer}"));
        assert!(!html.contains("<script") && !html.contains("<!--"), "{question}");
        assert!(
            html.contains("&lt;script&gt;") || html.contains("&#60;script"),
            "{question}"
        );
    }
}

// ---------------------------------------------------------------------------------------------------------------------
// Beginning and end

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
    let answer = desk.ask(&desk.saved(), &json!([]), &json!({}));
    assert_eq!(answer["faults"].as_array().unwrap().len(), 2);

    let folder = tempfile::tempdir().unwrap();
    let picture = folder.path().join("picture.toml");
    std::fs::write(&picture, [0x89, b'P', b'N', b'G', 0xff]).unwrap();
    let missing = folder.path().join("missing.toml");
    let taken = desk.port.to_string();
    for (arguments, code, word) in [
        (vec!["desk", "-"], 2, "standard input"),
        (vec!["desk", picture.to_str().unwrap()], 2, "UTF-8"),
        (vec!["desk", missing.to_str().unwrap()], 1, "no such file"),
        (vec!["desk", folder.path().to_str().unwrap()], 1, "folder"),
        (vec!["desk", desk.file.to_str().unwrap(), "--port", &taken], 1, "port"),
        (vec!["desk", desk.file.to_str().unwrap(), "--port", "99999"], 2, "port"),
    ] {
        let out = Command::new(PROGRAM).args(&arguments).output().unwrap();
        assert_eq!(out.status.code(), Some(code), "{arguments:?}");
        let said = String::from_utf8_lossy(&out.stderr).to_lowercase();
        assert!(said.contains(&word.to_lowercase()), "{arguments:?}: {said}");
        assert!(out.stdout.is_empty());
    }
}
