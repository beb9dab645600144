//! The workbook: its sheets, charts and sums.

use super::*;

#[test]
fn a_workbook_has_a_sheet_for_each_question() {
    let asked: Vec<&str> = FEW.into_iter().chain(DATED).collect();
    let mut book = workbook(&[shipped("oak-peg-rail"), shipped("oak-coat-stand")], &asked);
    let names = book.sheet_names();
    assert_eq!(names[..4], ["Answers", "Compare", "A Sweep", "A Floor"], "{names:?}");
    assert!(
        names.contains(&"B Scenario".to_owned()) && names.contains(&"A Jig".to_owned()),
        "{names:?}"
    );
    let answers = book.worksheet_range("Answers").expect("Answers");
    let said: Vec<String> = answers
        .rows()
        .map(|row| row.iter().map(ToString::to_string).collect::<String>())
        .collect();
    assert!(
        said.iter()
            .any(|row| row.contains("Which to make") && row.contains("an hour earns")),
        "{said:?}"
    );
    // The difference lies between its interval's ends, each a figure of its own.
    let compare = book.worksheet_range("Compare").expect("Compare");
    let other = |head: &str| {
        let found: Vec<f64> = column(&compare, head).into_iter().flatten().collect();
        assert_eq!(found.len(), 1, "{head}");
        found[0]
    };
    let (low, high) = (
        other("exact value lies between, low"),
        other("exact value lies between, high"),
    );
    let difference = other("EUR an hour less than A");
    assert!(low < difference && difference < high, "{low} {difference} {high}");
    let scenario = book.worksheet_range("A Scenario").expect("A Scenario");
    let lines: Vec<String> = scenario.rows().map(|row| row[0].to_string()).collect();
    assert!(
        lines.iter().any(|line| line.starts_with("You want 32 EUR an hour")),
        "{lines:?}"
    );
    assert!(lines.iter().any(|line| line.starts_with("title ")), "{lines:?}");
    // Charts are the workbook's own: their names stand in the archive's directory, uncompressed.
    let bytes = report(&[shipped("oak-peg-rail")], "xlsx", &asked);
    let has = |name: &str| bytes.windows(name.len()).any(|w| w == name.as_bytes());
    assert!(has("xl/charts/chart3.xml") && !has("vbaProject"));
    // Where no columns make curves, the answer's own picture: stress, drivers, jig and calendar.
    assert!(has("xl/media/image4.png") && !has("xl/media/image5.png"));
}

/// The table of sums: by size, hours, profit, what an hour earns, the floor.
fn sums(sheet: &Range<Data>) -> Vec<[f64; 5]> {
    let head = sheet
        .rows()
        .position(|row| row[0] == Data::String("pieces in a batch".to_owned()))
        .expect("the table");
    let figure = |cell: &Data| match cell {
        Data::Float(value) => Some(*value),
        Data::Int(value) => Some(*value as f64),
        _ => None,
    };
    let row = |row: &[Data]| {
        let all: Option<Vec<f64>> = [0, 1, 6, 7, 8].iter().map(|k| figure(&row[*k])).collect();
        all.and_then(|all| all.try_into().ok())
    };
    sheet.rows().skip(head + 1).map_while(row).collect()
}

/// What the sums come to stands in their cells as well, and is near what was simulated: within 4.9 standard errors, which one chance in
/// 1,000,000 passes (two-sided normal). Where price breaks meet a range, only the hours are an average without a remainder.
#[test]
fn sums_of_the_workbook_are_near_the_simulated_ones() {
    let mut checked = 0;
    for name in shipped::names() {
        let near = ["oak-peg-rail", "printed-tea-towels", "letterpress-cards"].contains(&name);
        let file = shipped(name);
        let mut book = workbook(std::slice::from_ref(&file), &["--only=sweep", "--date=2026-11-25"]);
        // Where something has no average without a remainder there is no such sheet, and another test says so.
        let Ok(sheet) = book.worksheet_range("Sums") else {
            continue;
        };
        checked += 1;
        let found = sums(&sheet);
        let answer = json("sweep", &file, &[]);
        let sizes = answer["sizes"].as_array().expect("sizes");
        assert_eq!(found.len(), sizes.len(), "{name}");
        let most = sheet
            .rows()
            .find(|row| row[0] == Data::String("No batch passes".to_owned()));
        let Some(Data::Float(most)) = most.map(|row| &row[1]) else {
            panic!("{name}: no ceiling")
        };
        let ceiling = answer["ceiling"].as_f64().expect("a ceiling");
        assert!(
            (most - ceiling).abs() <= 1e-9 * ceiling.abs(),
            "{name}: {most} against {ceiling}"
        );
        for ([size, hours, profit, rate, _], simulated) in found.iter().zip(sizes) {
            let figure = |path: &str| simulated.pointer(path).and_then(Value::as_f64).expect("a figure");
            assert_eq!(*size, figure("/size"));
            let compared = [(hours, "/hours"), (profit, "/profit")];
            for (value, mean) in &compared[..if near { 1 } else { 2 }] {
                let (mean, se) = (figure(&format!("{mean}/mean")), figure(&format!("{mean}/se")));
                assert!(
                    (*value - mean).abs() <= 4.9 * se + 1e-9,
                    "{name} {size}: {value} against {mean} ± {se}"
                );
            }
            assert!((rate - profit / hours).abs() < 1e-9);
        }
    }
    assert!(checked >= 9, "{checked}");
}

/// A spreadsheet program reckons the formulas to what stands in their cells, and a changed price changes them. Skipped, and said, where
/// there is no `soffice`.
#[test]
#[expect(clippy::print_stderr, reason = "a check that is skipped says so")]
fn a_spreadsheet_program_reckons_the_sums_alike() {
    let found = std::process::Command::new("soffice").arg("--version").output();
    if !found.is_ok_and(|ran| ran.status.success()) {
        eprintln!("no soffice here: the formulas are not reckoned by another program");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let of = |bytes: &[u8]| {
        let mut book = Xlsx::new(Cursor::new(bytes)).expect("a workbook");
        sums(&book.worksheet_range("Sums").expect("Sums"))
    };
    // The winter fair has other buyers at another price, which the sums have not.
    let prices = [
        ("oak-coat-stand", "900"),
        ("printed-tea-towels", "24"),
        ("oak-peg-rail", "70"),
        ("stoneware-mugs", "40"),
        ("card-wallet", "140"),
        ("letterpress-cards", "80"),
        ("ash-dining-table", "4000"),
        ("spinning-tops", "30"),
        ("plant-labels", "31"),
    ];
    let mut due = Vec::new();
    for (name, price) in prices {
        let made = |more: &[&str]| {
            let asked: Vec<&str> = ["--only=floor", "--date=2026-11-25", "--trials=200"]
                .iter()
                .chain(more)
                .copied()
                .collect();
            report(&[shipped(name)], "xlsx", &asked)
        };
        let plain = made(&[]);
        // Only the price in its own cell is exchanged; all else has to follow.
        for (kind, price, expected) in [
            ("plain", None, of(&plain)),
            ("dearer", Some(price), of(&made(&[&format!("--price={price}")]))),
        ] {
            let file = folder.path().join(format!("{name}-{kind}.xlsx"));
            fs::write(&file, with_price(&plain, price)).expect("written");
            due.push((file, expected));
        }
    }
    // Reads the workbooks, reckons them and writes them in another format.
    let ran = std::process::Command::new("soffice")
        .arg(format!(
            "-env:UserInstallation=file://{}",
            folder.path().join("profile").display()
        ))
        .args(["--headless", "--convert-to", "ods", "--outdir"])
        .arg(folder.path())
        .args(due.iter().map(|(file, _)| file))
        .output()
        .expect("soffice");
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    for (file, due) in due {
        let made = file.with_extension("ods");
        let mut book: calamine::Ods<_> = calamine::open_workbook(&made).expect("a workbook");
        let found = sums(&book.worksheet_range("Sums").expect("Sums"));
        assert_eq!(found.len(), due.len(), "{}", made.display());
        for (found, due) in found.iter().flatten().zip(due.iter().flatten()) {
            // To the cent, and hours and sizes closer than shown.
            assert!((found - due).abs() < 0.005, "{}: {found} against {due}", made.display());
        }
    }
}

/// The workbook with another price in the cell of the sheet of sums, and every result of a formula taken out so that it has to be reckoned.
fn with_price(bytes: &[u8], price: Option<&str>) -> Vec<u8> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).expect("an archive");
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for k in 0..archive.len() {
        let mut file = archive.by_index(k).expect("a file");
        let name = file.name().expect("a name").into_owned();
        let mut inside = Vec::new();
        std::io::Read::read_to_end(&mut file, &mut inside).expect("its bytes");
        let text = String::from_utf8_lossy(&inside).into_owned();
        if text.contains("<f>pace/60*") {
            let (before, rest) = text.split_once("<c r=\"B4\"").expect("the price's cell");
            let (attributes, rest) = rest.split_once("<v>").expect("its value");
            let (asked, after) = rest.split_once("</v>").expect("its value's end");
            let price = price.unwrap_or(asked);
            let mut text = format!("{before}<c r=\"B4\"{attributes}<v>{price}</v>{after}");
            while let Some(at) = text.find("</f><v>") {
                let end = at + text[at..].find("</v>").expect("an end");
                text.replace_range(at + 4..end + 4, "");
            }
            inside = text.into_bytes();
        }
        out.start_file(name, stored).expect("a file");
        std::io::Write::write_all(&mut out, &inside).expect("written");
    }
    out.finish().expect("an archive").into_inner()
}
