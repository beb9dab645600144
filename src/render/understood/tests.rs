use super::*;

/// Two ways of selling, one with time of its own: 12 min of turning, and of the steps' 30 min or the fair's 4 min an order.
const SHOP: &str = r#"
target = 20
currency = "EUR"
[pace]
factor = "1 / 2 / 3"
[batch]
sizes = "1..4"
runs = 5
[[step]]
name = "draw"
once = "1 h"
[[step]]
name = "turn"
setup = "4 / 6 / 8 min"
each = "12 min"
room = 6
redo = "20 %"
learning = "90 %"
[[step]]
name = "pack"
per_order = "30 min"
[[material]]
name = "ash"
per_piece = 0.5
per_order = 2
unit = "board"
price = "3 / 5 USD"
waste = "20 %"
[sale]
price = 60
tax = "25 %"
fee = "5 %"
fee_per_order = 0.40
[[channel]]
name = "post"
share = "30 %"
[[channel]]
name = "fair"
share = "70 %"
discount = "25 %"
per_order = "4 min"
[currencies]
USD = 0.9
[hours]
mon = 2
sat = 4.5
[shop]
per_hour = 1.5
per_month = 120
hours_per_month = 60
"#;

/// What a log was put in over has a row each, by its name.
#[test]
fn what_was_guessed_before_a_log_is_told() {
    let kept = SHOP
        .replace(
            "each = \"12 min\"",
            "each = \"12 min\"\nvaries = \"batch\"\nguessed_each = \"8 / 10 / 15 min\"\nguessed_varies = \"piece\"",
        )
        .replace(
            "per_order = \"4 min\"",
            "per_order = \"4 min\"\nguessed_per_order = \"6 min\"",
        )
        .replace("factor = \"1 / 2 / 3\"", "factor = \"1 / 2 / 3\"\nguessed_factor = 1");
    let tables = |text: &str| told_of(text).tables;
    let guesses = tables(&kept).pop().expect("a table of them");
    let row = |cells: &Vec<Cell>| {
        cells
            .iter()
            .map(|cell| cell.text.as_str())
            .collect::<Vec<_>>()
            .join(" | ")
    };
    let rows: Vec<String> = guesses.rows.iter().map(row).collect();
    let due = [
        "turn | each | 8 min | 10 min | 15 min | ",
        " | differs |  |  |  | from piece to piece",
        "fair | per order |  | 6 min |  | ",
        "all times | pace |  | 1 |  | ",
    ];
    assert_eq!(rows, due);
    assert_eq!(tables(SHOP).len() + 1, tables(&kept).len());
}

fn told_of(text: &str) -> Told {
    told(&crate::scenario::read("shop", text, &[]).expect("it reads"))
}

/// Of ten single pieces three go by post and seven to the fair: 12 min of drawing, 6 of setup, 15 of turning with its redos and 0.3 x 30 + 0.7 x 4
/// of its order, at twice the pace.
#[test]
fn a_single_piece_takes_what_sweep_says() {
    let last = |text: &str| told_of(text).closing.pop().expect("it ends with that");
    assert!(last(SHOP).contains(" 1 h 30 min "), "{}", last(SHOP));
    // Without channels the steps' own time stands.
    let (start, rest) = SHOP.split_once("[[channel]]").expect("it has some");
    let (_, end) = rest.split_once("[currencies]").expect("it follows");
    let alone = format!("{start}[currencies]{end}");
    assert!(last(&alone).contains(" 2 h 6 min "), "{}", last(&alone));
}
