//! Keys of the work: steps, materials, bench hours, jigs, misfortunes, and ranges.

use super::{Bound, Choice, Key, Measure, Rule, Section, Takes, Written};

/// The key that keeps what was guessed of another one before a work log.
macro_rules! guessed {
    ($key:literal, $takes:expr, $example:literal) => {
        Key::new(
            concat!("guessed_", $key),
            $takes,
            $example,
            concat!(
                "What you guessed for `",
                $key,
                "` before the first entry of the work log. It stays when the log's times are put in, and the whole log is read beside it. \
                 Take it out if you begin a new log."
            ),
        )
        .default(concat!("the log is read beside `", $key, "`"))
    };
}

/// Hands-on time, certain or a range.
pub(super) const TIME: Takes = Takes::Amount(Rule::of(Measure::Work));
/// Whether pieces or batches differ.
const VARIES: Takes = Takes::Choice(&[
    Choice {
        word: "piece",
        about: "every piece takes its own time",
    },
    Choice {
        word: "batch",
        about: "all pieces of a batch take alike",
    },
]);
/// A certain amount of anything, zero or more.
const NUMBER: Takes = Takes::Amount(Rule::of(Measure::Number).certain());
/// A certain number above zero.
const POSITIVE: Takes = Takes::Amount(Rule::positive(Measure::Number).certain());
/// A range of money.
const MONEY: Takes = Takes::Amount(Rule::of(Measure::Money));
/// More than nothing, and all at the most.
pub(super) const PART: Rule = Rule::of(Measure::Share)
    .from(Bound::Short(0.0))
    .up_to(Bound::To(1.0))
    .certain();
/// A chance that may be certainty.
const CHANCE: Rule = Rule::of(Measure::Share).up_to(Bound::To(1.0)).certain();

pub(super) const TOP: Section = Section {
    word: "",
    written: Written::Top,
    about: "What the piece is called, which money it is in, and what an hour should earn. In the file this is at the top, above the first section.",
    keys: &[
        Key::new(
            "title",
            Takes::Text,
            r#""Oak peg rail""#,
            "What the piece is called. It stands in every heading.",
        )
        .default("the name of the file"),
        Key::new(
            "description",
            Takes::Text,
            r#""Oak, oiled, 62 x 9 cm, five pegs, with screws.""#,
            "What a buyer gets: what it is made of, how large it is, what comes with it. It stands on a sheet for a buyer and nowhere else.",
        ),
        Key::new(
            "maker",
            Takes::Text,
            r#""Hill Lane Woodwork""#,
            "Who offers the piece, as a buyer knows you. It stands on a sheet for a buyer.",
        ),
        Key::new(
            "contact",
            Takes::Text,
            r#""3 Hill Lane, Middleton; bench@woodwork.example""#,
            "Where a buyer reaches you: address, telephone, mail. It stands on a sheet for a buyer.",
        ),
        Key::new(
            "currency",
            Takes::Currency,
            r#""EUR""#,
            "The currency that all money is in. It is only printed.",
        )
        .default("XXX, which stands for no currency"),
        Key::new(
            "target",
            Takes::Amount(Rule::of(Measure::Money).certain()),
            "32",
            "The money that an hour at the bench should earn, before income tax.",
        )
        .unit("money an hour")
        .needed("what an hour at the bench should earn"),
        Key::new(
            "confidence",
            Takes::Amount(
                Rule::of(Measure::Share)
                    .from(Bound::Short(0.0))
                    .up_to(Bound::Short(1.0))
                    .certain(),
            ),
            r#""80 %""#,
            "How sure you want to be of the target. With 80 %, 80 of 100 batches must reach it.",
        )
        .default("80 %"),
    ],
};

pub(super) const BATCH: Section = Section {
    word: "batch",
    written: Written::Once,
    about: "How many pieces you start together, and how many such batches you make.",
    keys: &[
        Key::new(
            "sizes",
            Takes::Sizes,
            r#""1..40""#,
            "The batch sizes to look at. Write a stretch, a stretch with steps such as \"5..100 step 5\", or a list.",
        )
        .default("1 to 24"),
        Key::new(
            "spoiled",
            Takes::Choice(&[
                Choice {
                    word: "short",
                    about: "you sell fewer",
                },
                Choice {
                    word: "remake",
                    about: "you make the missing pieces again until all are good, each time with the setup of every step they pass",
                },
            ]),
            r#""remake""#,
            "What a spoiled piece leads to.",
        )
        .default("short"),
        Key::new(
            "runs",
            Takes::Count(1),
            "4",
            "How many batches of this design you will ever make. They share what is done `once`; where it is 1, dates have all of it.",
        )
        .unit("batches")
        .default("1"),
    ],
};

pub(super) const PACE: Section = Section {
    word: "pace",
    written: Written::Once,
    about: "Good days and bad ones.",
    keys: &[
        Key::new(
            "factor",
            Takes::Amount(Rule::positive(Measure::Number)),
            r#""0.9 / 1 / 1.35""#,
            "It multiplies all hands-on time of a batch. 1 is as you estimated, 1.35 is a bad day.",
        )
        .unit("times")
        .default("1"),
        guessed!(
            "factor",
            Takes::Amount(Rule::positive(Measure::Number)),
            r#""0.9 / 1 / 1.35""#
        )
        .unit("times"),
    ],
};

pub(super) const STEP: Section = Section {
    word: "step",
    written: Written::Each,
    about: "One thing that you do. Write the steps in the order of the work, and hands-on time only.",
    keys: &[
        Key::new("name", Takes::Name, r#""sawing""#, "What you call the step.").needed("what the step is called"),
        Key::new(
            "once",
            TIME,
            r#""3 h""#,
            "Hands-on time once for the life of the design: drawing it, trying it out.",
        )
        .default("none"),
        Key::new(
            "setup",
            TIME,
            r#""3 / 4 / 8 min""#,
            "Hands-on time to get ready and to clean up, however many pieces follow. It comes again with each round.",
        )
        .default("none"),
        Key::new("each", TIME, r#""8 / 12 / 25 min""#, "Hands-on time for each piece.").default("none"),
        Key::new(
            "per_order",
            TIME,
            r#""15 / 20 / 35 min""#,
            "Hands-on time for each order that you sell: packing, posting, delivering.",
        )
        .default("none"),
        Key::new(
            "room",
            Takes::Count(1),
            "6",
            "How many pieces one setup holds: clamps, a kiln, a rack. With room for 6, 13 pieces take 3 rounds.",
        )
        .default("all pieces"),
        Key::new(
            "others",
            Takes::Amount(Rule::of(Measure::Share).up_to(Bound::Short(1.0)).certain()),
            r#""40 %""#,
            "The share of each round that pieces of other designs fill. They bear that share of its setup and of what a round uses; the \
             calendar has all of the setup. `room` counts the pieces of this design alone.",
        )
        .default("none"),
        Key::new(
            "done_by",
            Takes::Choice(&[
                Choice {
                    word: "you",
                    about: "you do it",
                },
                Choice {
                    word: "helper",
                    about: "your helper does the setup and the work on each piece",
                },
            ]),
            r#""helper""#,
            "Who does the step. What a helper does costs the wage of [helper] and none of your hours. Orders and what is done `once` are yours.",
        )
        .default("you"),
        Key::new(
            "kept_in",
            Takes::Text,
            r#""kiln""#,
            "What holds a round until its wait is over. Steps that name the same thing wait for each other.",
        )
        .default("the step has a place of its own"),
        Key::new(
            "wait",
            Takes::Amount(Rule::of(Measure::Clock)),
            r#""12 h""#,
            "Clock time after each round that needs nobody's hands: glue, drying, firing. It costs days and no hours.",
        )
        .default("none"),
        Key::new(
            "varies",
            VARIES,
            r#""batch""#,
            "Whether the time for each piece differs from piece to piece or from batch to batch.",
        )
        .default("piece"),
        Key::new(
            "opposite",
            Takes::Amount(CHANCE),
            r#""60 %""#,
            "In what share of batches a long setup goes with quick pieces: as far up its range as the pieces are down theirs. \
             A work log puts it in where it tells the two together better than each.",
        )
        .default("none")
        .with(&["varies"]),
        Key::new(
            "learning",
            Takes::Amount(PART),
            r#""92 %""#,
            "What twice as much practice leaves of the time for each piece. Leave it out if you are past learning.",
        )
        .default("no learning"),
        Key::new(
            "made_before",
            Takes::Count(0),
            "2",
            "How many pieces you had made before the one that took the time for each piece. Every batch begins from there: write more once you have made more.",
        )
        .default("0")
        .with(&["learning"]),
        Key::new(
            "learned_by",
            Takes::Count(1),
            "60",
            "After how many pieces you get no faster. It counts those made before.",
        )
        .default("it goes on")
        .with(&["learning"]),
        Key::new(
            "redo",
            Takes::Amount(Rule::of(Measure::Share).up_to(Bound::Short(1.0)).certain()),
            r#""5 %""#,
            "Of the times the step is done on a piece, the share after which it must be done again, as often as it takes. On the calendar that is at once, or, where the step has a wait, \
             when the wait is over, and then it waits again.",
        )
        .default("none"),
        Key::new(
            "spoil",
            Takes::Amount(CHANCE),
            r#""2 %""#,
            "Of the pieces, the share that this step spoils. They are lost after the step is done.",
        )
        .default("none"),
        Key::new(
            "second",
            Takes::Amount(Rule::of(Measure::Share).up_to(Bound::Short(1.0)).certain()),
            r#""8 %""#,
            "Of the pieces, the share that becomes a second here. It goes on through the other steps and is sold as [seconds] says.",
        )
        .default("none"),
        guessed!("once", TIME, r#""3 h""#),
        guessed!("setup", TIME, r#""3 / 4 / 8 min""#),
        guessed!("each", TIME, r#""8 / 12 / 25 min""#),
        GUESSED_PER_ORDER,
        guessed!("varies", VARIES, r#""piece""#),
    ],
};

/// Of a step, and of a channel that takes its own time for orders.
pub(super) const GUESSED_PER_ORDER: Key = guessed!("per_order", TIME, r#""15 / 20 / 35 min""#);

pub(super) const MATERIAL: Section = Section {
    word: "material",
    written: Written::Each,
    about: "One thing that you buy and use up. Say at least one amount: for a piece, a batch, a round or an order.",
    keys: &[
        Key::new("name", Takes::Name, r#""oak, sawn 25 mm""#, "What you call it.")
            .needed("what the material is called"),
        Key::new(
            "per_piece",
            NUMBER,
            "0.9",
            "How much of it goes into each piece that gets as far as the step `at`.",
        )
        .unit("units")
        .default("none"),
        Key::new(
            "per_batch",
            NUMBER,
            "0.2",
            "How much of it a batch uses, however many pieces are in it. What is made again uses none of it once more.",
        )
        .unit("units")
        .default("none"),
        Key::new(
            "per_round",
            NUMBER,
            "24",
            "How much of it each round of the step `at` uses, however full it is: power for a firing, a mix of resin.",
        )
        .unit("units")
        .default("none"),
        Key::new(
            "per_order",
            NUMBER,
            "1",
            "How much of it each order uses: a carton, a card.",
        )
        .unit("units")
        .default("none"),
        Key::new(
            "channel",
            Takes::Channel,
            r#""post""#,
            "Only orders through this channel use it, as a carton that the post needs and the stall does not.",
        )
        .default("orders of every channel use it")
        .with(&["per_order"]),
        Key::new(
            "unit",
            Takes::Text,
            r#""board""#,
            "What it is counted in. It is only printed.",
        )
        .default("unit"),
        Key::new(
            "price",
            MONEY,
            r#""6.20 / 7.00 / 8.50""#,
            "What one unit costs if you buy it today.",
        )
        .unit("money a unit")
        .needed("what one unit would cost to buy today"),
        Key::new(
            "waste",
            // More than all again may be bought: boards with their bark on are mostly waste.
            Takes::Amount(Rule::of(Measure::Share).up_to(Bound::To(100.0))),
            r#""15 / 25 / 40 %""#,
            "How much more you buy than you use. For 100 used and 25 %, you buy 125.",
        )
        .default("none"),
        Key::new(
            "pack",
            POSITIVE,
            "10",
            "You can buy it only in whole packs of so many units.",
        )
        .unit("units")
        .default("any amount can be bought"),
        Key::new(
            "leftover",
            Takes::Choice(&[
                Choice {
                    word: "keep",
                    about: "you keep the rest, and pay for what is used",
                },
                Choice {
                    word: "lost",
                    about: "the rest is lost, and you pay for whole packs",
                },
            ]),
            r#""lost""#,
            "What becomes of the rest of a pack.",
        )
        .default("keep"),
        Key::new(
            "breaks",
            Takes::Breaks,
            "[{ from = 10, price = 6.00 }]",
            "Lower prices for buying more at once. From so many units bought for a batch, each of them costs this. Units bought are those of \
             whole packs, also where you keep the rest and pay for what is used. Where a batch needs fewer, so many are bought if \
             that costs less. Where you keep the rest, you pay for what is used here too.",
        )
        .default("none"),
        Key::new(
            "paid",
            Takes::Amount(Rule::of(Measure::Money).certain()),
            "4.50",
            "What you really paid for a unit, where it was less or a gift. It is told beside what it would cost today.",
        )
        .unit("money a unit")
        .default("the price"),
        Key::new(
            "at",
            Takes::Step,
            r#""drill""#,
            "The step where it goes in. A piece that was spoiled before has used none.",
        )
        .default("the first step"),
    ],
};

pub(super) const HOURS: Section = Section {
    word: "hours",
    written: Written::Once,
    about: "When you are at the bench in a usual week. A day that you leave out has no hours. One that says only how long begins when the \
            calendar's bench opens.",
    keys: &[
        Key::new("mon", Takes::DayHours, "2", "Hours at the bench on a Monday.").default("none"),
        Key::new(
            "tue",
            Takes::DayHours,
            r#""18:00..20:30""#,
            "Hours at the bench on a Tuesday.",
        )
        .default("none"),
        Key::new(
            "wed",
            Takes::DayHours,
            r#""1 h 30 min""#,
            "Hours at the bench on a Wednesday.",
        )
        .default("none"),
        Key::new("thu", Takes::DayHours, "2", "Hours at the bench on a Thursday.").default("none"),
        Key::new("fri", Takes::DayHours, "2", "Hours at the bench on a Friday.").default("none"),
        Key::new("sat", Takes::DayHours, "6", "Hours at the bench on a Saturday.").default("none"),
        Key::new("sun", Takes::DayHours, "4", "Hours at the bench on a Sunday.").default("none"),
        Key::new(
            "off",
            Takes::Dates,
            r#"["2027-12-24..2027-12-26", "2028-01-01"]"#,
            "Dates, and stretches of dates, when you are not at the bench.",
        )
        .default("none"),
    ],
};

pub(super) const HELPER: Section = Section {
    word: "helper",
    written: Written::Once,
    about: "Somebody who does the steps that say `done_by = \"helper\"`, in your bench hours and beside you.",
    keys: &[Key::new(
        "wage",
        Takes::Amount(Rule::of(Measure::Money).certain()),
        "18",
        "What an hour of your helper costs you, with all that is paid on top of the wage and what the shop uses in it.",
    )
    .unit("money an hour")
    .needed("what an hour of the helper costs you")],
};

pub(super) const JIG: Section = Section {
    word: "jig",
    written: Written::Each,
    about: "Something that you could build or buy to save time at one step. Say at least one thing that it changes: `setup`, `each` \
            or `room`.",
    keys: &[
        Key::new("name", Takes::Name, r#""drilling jig""#, "What you call it.").needed("what the jig is called"),
        Key::new("step", Takes::Step, r#""drill""#, "The step that it helps.").needed("the step it helps"),
        Key::new("build", TIME, r#""2 / 3 / 5 h""#, "Your time to build it.").default("none"),
        Key::new(
            "cost",
            Takes::Amount(Rule::of(Measure::Money).certain()),
            "20",
            "What you buy for it.",
        )
        .default("none"),
        Key::new(
            "setup",
            Takes::Change,
            r#""x 0.5""#,
            "What it does to the step's `setup`: \"x 0.5\" halves it, \"- 2 min\" takes two minutes off. Where the step can be quicker than \
             that, it takes so many off on average, in proportion.",
        )
        .default("no change"),
        Key::new(
            "each",
            Takes::Change,
            r#""- 2 min""#,
            "What it does to the step's `each`.",
        )
        .default("no change"),
        Key::new(
            "room",
            Takes::Room,
            r#""+ 6""#,
            "How many pieces a setup holds with it: \"+ 6\" is six more, 12 is twelve in all.",
        )
        .default("as before"),
        Key::new("lasts", Takes::Count(1), "400", "After how many pieces it is worn out.").default("for ever"),
    ],
};

pub(super) const MISFORTUNE: Section = Section {
    word: "misfortune",
    written: Written::Each,
    about: "Something that may go wrong besides slow work. `stress` says what it costs.",
    keys: &[
        Key::new("name", Takes::Name, r#""the saw breaks down""#, "What happens.")
            .needed("what the misfortune is called"),
        Key::new(
            "changes",
            Takes::Changes,
            r#"["step.drill.each = 12 / 15 / 30 min", "sale.post = 9"]"#,
            "What is different then. Write each change in quotes, as `--set` takes it.",
        )
        .needed("what is different then"),
    ],
};

pub(super) const BREAKS: Section = Section {
    word: super::BREAKS,
    written: Written::Braces,
    about: "One price break in the `breaks` of a material.",
    keys: &[
        Key::new("from", POSITIVE, "10", "From how many units bought for a batch.")
            .unit("units")
            .needed("from how many units bought per batch"),
        Key::new("price", MONEY, "6.00", "What each unit costs then.")
            .unit("money a unit")
            .needed("what a unit costs then"),
    ],
};

pub(super) const RANGE: Section = Section {
    word: super::RANGE,
    written: Written::Braces,
    about: "A range that says more than \"low / likely / high\". It may stand wherever a range may.",
    keys: &[
        Key::new("low", Takes::Figure, "8", "The low end.").default("a logged range has none"),
        Key::new("likely", Takes::Figure, "12", "What is likeliest.").default("there is none"),
        Key::new("high", Takes::Figure, "25", "The high end.").default("a logged range has none"),
        Key::new(
            "unit",
            Takes::Unit,
            r#""min""#,
            "The unit of the figures: s, min, h, d or %.",
        )
        .default("each figure has its own"),
        Key::new(
            "shape",
            Takes::Choice(&[
                Choice {
                    word: "triangular",
                    about: "likeliest at `likely`, rarer towards both ends",
                },
                Choice {
                    word: "pert",
                    about: "the same, and nearer to `likely`",
                },
                Choice {
                    word: "uniform",
                    about: "anything between `low` and `high` is equally likely",
                },
                Choice {
                    word: "lognormal",
                    about: "with a long slow tail; needs `ends = \"tenths\"`",
                },
                Choice {
                    word: "logged",
                    about: "one of `values`, each equally likely",
                },
            ]),
            r#""pert""#,
            "How likely the values between the ends are.",
        )
        .default("triangular with `likely`, uniform without"),
        Key::new(
            "ends",
            Takes::Choice(&[
                Choice {
                    word: "limits",
                    about: "it is never below `low` and never above `high`",
                },
                Choice {
                    word: "tenths",
                    about: "10 of 100 lie below `low`, and 10 above `high`",
                },
            ]),
            r#""tenths""#,
            "What `low` and `high` are.",
        )
        .default("limits"),
        Key::new(
            "values",
            Takes::Values,
            "[11, 12.5, 14, 12, 19]",
            "What you logged, 5 values or more.",
        )
        .default("none"),
    ],
};
