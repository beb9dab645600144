//! Keys of selling and of the shop.

use super::rule::LARGEST_SIZE;
use super::work::{PART, TIME};
use super::{Bound, Choice, Key, Measure, Rule, Section, Takes, Written};

/// A year's holding costs at the most: ten times what the stock is worth.
const MOST_HOLD: f64 = 10.0;

/// Certain money, zero or more.
const MONEY: Takes = Takes::Amount(Rule::of(Measure::Money).certain());
/// Certain money above zero.
const PRICE: Takes = Takes::Amount(Rule::positive(Measure::Money).certain());
/// A share of less than all.
const UNDER_ALL: Takes = Takes::Amount(Rule::of(Measure::Share).up_to(Bound::Short(1.0)).certain());
/// What keeping costs a year.
const HOLD: Takes = Takes::Amount(Rule::of(Measure::Share).up_to(Bound::To(MOST_HOLD)).certain());
const POSITIVE: Rule = Rule::positive(Measure::Number).certain();

const TAX: Key = Key::new(
    "tax",
    Takes::Amount(Rule::of(Measure::Share).up_to(Bound::To(1.0)).certain()),
    r#""20 %""#,
    "The rate of tax that the price and the postage charged contain, and that you pass on. With \"25 %\", 20.00 of 100 paid is tax.",
);
const ORDER_OF: Key = Key::new(
    "order_of",
    Takes::Amount(
        Rule::of(Measure::Number)
            .from(Bound::To(1.0))
            .up_to(Bound::To(LARGEST_SIZE as f64)),
    ),
    r#""1 / 1 / 4""#,
    "How many pieces an order is for. A range is drawn for each order.",
)
.unit("pieces");
const FEE: Key = Key::new(
    "fee",
    UNDER_ALL,
    r#""8 %""#,
    "What the place where you sell takes of all that the buyer pays, postage and tax included, tips left out.",
);
const FEE_PER_ORDER: Key = Key::new("fee_per_order", MONEY, "0.20", "What it takes for each order besides.");
const POST: Key = Key::new(
    "post",
    Takes::Amount(Rule::of(Measure::Money)),
    r#""5.50 / 6.50 / 9""#,
    "What the carrier takes for an order, or van and fuel.",
)
.unit("money an order");
const POST_CHARGED: Key = Key::new(
    "post_charged",
    MONEY,
    "6",
    "What the buyer pays for the postage of an order.",
)
.unit("money an order");
const TIP: Key = Key::new(
    "tip",
    Takes::Amount(Rule::of(Measure::Money)),
    r#""0 / 1 / 5""#,
    "What a buyer adds to an order of free will. Neither tax nor `fee` takes a share of it: write what is left for you. An order that comes \
     back takes its tip along.",
)
.unit("money an order");
const RETURNED: Key = Key::new(
    "returned",
    UNDER_ALL,
    r#""2 %""#,
    "Of the orders, the share for which the buyer gets the money back. The pieces are gone, but for those that `as_new` says.",
);
const AS_NEW: Key = Key::new(
    "as_new",
    Takes::Amount(Rule::of(Measure::Share).up_to(Bound::To(1.0)).certain()),
    r#""60 %""#,
    "Of the orders that come back, the share whose pieces can be sold again as new. Such a piece is worth what [season] says of a piece left \
     over. Without [season] it is worth what the last piece of a batch takes in material and hours, for it saves making one.",
)
.with(&["returned"]);

const SET_OF: Key = Key::new(
    "set_of",
    Takes::Count(2),
    "4",
    "How many pieces make a set. Only full sets are sold, `price` is for a piece of one, and `order_of` counts sets. What makes no full set is \
     left over, and is worth what [season] says of it. Without [season] it is worth what the last piece of a batch takes in material and \
     hours, for a later set has it. Pieces on sale or return make no sets.",
);
const SINGLE_PRICE: Key = Key::new(
    "single_price",
    PRICE,
    "26",
    "What a buyer pays for a piece that makes no full set, tax included. Nobody packs or posts it.",
)
.unit("money a piece")
.with(&["set_of"]);

/// A share that is at least one in a hundred.
const WON: Takes = Takes::Amount(
    Rule::of(Measure::Share)
        .from(Bound::To(0.01))
        .up_to(Bound::To(1.0))
        .certain(),
);
const QUOTE: Key = Key::new(
    "quote",
    TIME,
    r#""30 / 45 / 90 min""#,
    "Hands-on time for one quote. Those that win nothing take their time too, and the hours of orders carry it.",
);
const QUOTE_WON: Key = Key::new(
    "quote_won",
    WON,
    r#""30 %""#,
    "Of the quotes, the share that becomes an order.",
)
.with(&["quote"]);
const ENQUIRY: Key = Key::new(
    "enquiry",
    TIME,
    r#""5 / 10 / 20 min""#,
    "Hands-on time for one enquiry, by letter or at the counter.",
);
const ENQUIRY_BOUGHT: Key = Key::new(
    "enquiry_bought",
    WON,
    r#""20 %""#,
    "Of the enquiries, the share that becomes an order.",
)
.with(&["enquiry"]);

pub(super) const SALE: Section = Section {
    word: "sale",
    written: Written::Once,
    about: "How a piece is sold.",
    keys: &[
        Key::new("price", PRICE, "58", "What a buyer pays for a piece, tax included.")
            .unit("money a piece")
            .needed("what a buyer pays for a piece"),
        TAX.default("none"),
        ORDER_OF.default("1"),
        FEE.default("none"),
        FEE_PER_ORDER.unit("money an order").default("none"),
        POST.default("none"),
        POST_CHARGED.default("none"),
        TIP.default("none"),
        RETURNED.default("none"),
        AS_NEW.default("none"),
        SET_OF.default("pieces are sold one by one"),
        SINGLE_PRICE.default("it is left over"),
        QUOTE.default("nobody asks for one"),
        QUOTE_WON.default("100 %"),
        ENQUIRY.default("none"),
        ENQUIRY_BOUGHT.default("100 %"),
    ],
};

/// What a channel does not say.
const AS_SALE: &str = "as in [sale]";

pub(super) const CHANNEL: Section = Section {
    word: "channel",
    written: Written::Each,
    about: "One way of selling among several. It may have any key of [sale] of its own, and takes the rest from there.",
    keys: &[
        Key::new("name", Takes::Name, r#""market stall""#, "What you call it.").needed("what the channel is called"),
        Key::new(
            "share",
            Takes::Amount(PART),
            r#""40 %""#,
            "Its share of the good pieces over many batches; each batch is shared out from where the last left off. The shares of all channels \
             add up to 100 %.",
        )
        .needed("its share of the pieces"),
        Key::new(
            "discount",
            UNDER_ALL,
            r#""40 %""#,
            "What is taken off the price here, as shops ask for.",
        )
        .default("none"),
        Key::new(
            "per_order",
            TIME,
            r#""15 / 20 / 30 min""#,
            "Hands-on time that an order takes here, in place of the `per_order` of the steps.",
        )
        .default("the `per_order` of the steps"),
        super::work::GUESSED_PER_ORDER,
        Key::new(
            "price",
            PRICE,
            "64",
            "What a buyer pays for a piece here, tax included, before the discount.",
        )
        .unit("money a piece")
        .default(AS_SALE),
        TAX.default(AS_SALE),
        ORDER_OF.default(AS_SALE),
        FEE.default(AS_SALE),
        FEE_PER_ORDER.unit("money an order").default(AS_SALE),
        POST.default(AS_SALE),
        POST_CHARGED.default(AS_SALE),
        TIP.default(AS_SALE),
        RETURNED.default(AS_SALE),
        AS_NEW.default(AS_SALE),
        SET_OF.default(AS_SALE),
        SINGLE_PRICE.default(AS_SALE),
        QUOTE.default(AS_SALE),
        QUOTE_WON.default(AS_SALE),
        ENQUIRY.default(AS_SALE),
        ENQUIRY_BOUGHT.default(AS_SALE),
        Key::new(
            "unsold",
            Takes::Amount(Rule::of(Measure::Share).up_to(Bound::To(1.0))),
            r#""15 / 30 / 60 %""#,
            "Of the pieces left there on sale or return, the share that comes back unsold; a range is drawn for each batch. They go there in \
             orders as others do, and the place pays only for what it sells. A piece that comes back is worth what `as_new` says of one.",
        )
        .default("it buys what it takes"),
        Key::new(
            "worn",
            Takes::Amount(Rule::of(Measure::Share).up_to(Bound::To(1.0)).certain()),
            r#""10 %""#,
            "Of the pieces that come back unsold, the share that is too worn to be sold as new.",
        )
        .default("none")
        .with(&["unsold"]),
        Key::new("worn_price", MONEY, "12", "What a worn piece fetches, without tax.")
            .unit("money a piece")
            .default("nothing")
            .with(&["unsold", "worn"]),
        Key::new(
            "weeks",
            Takes::Amount(POSITIVE.up_to(Bound::To(520.0))),
            "12",
            "How long it is until the place pays for what it sold and gives back the rest.",
        )
        .unit("weeks")
        .default("at once: waiting for money alone changes nothing of what an hour earns")
        .with(&["unsold", "hold"]),
        Key::new(
            "hold",
            HOLD,
            r#""20 %""#,
            "What waiting so long costs a year, as a share of the money tied up in the pieces left there.",
        )
        .unit("per cent a year")
        .default("nothing")
        .with(&["unsold", "weeks"]),
    ],
};

pub(super) const SELLING_DAY: Section = Section {
    word: "selling_day",
    written: Written::Each,
    about: "A day at a stall or a fair. Each happens once with every batch, whatever its size, in the order of the file and before \
            anything is sold otherwise. What is left comes home and is sold as [sale], [[channel]] and [season] say. Nobody packs or posts \
            what is sold there.",
    keys: &[
        Key::new("name", Takes::Name, r#""spring fair""#, "What you call it.").needed("what the day is called"),
        Key::new(
            "sells",
            Takes::Amount(Rule::of(Measure::Number).up_to(Bound::To(LARGEST_SIZE as f64))),
            r#""6 / 12 / 25""#,
            "How many pieces find a buyer there, if there are so many.",
        )
        .unit("pieces")
        .needed("how many pieces find a buyer there"),
        Key::new(
            "there",
            TIME,
            r#""7 / 8 / 9 h""#,
            "Your hours there, from putting up the stall to taking it down. The pace of the batch does not lengthen them.",
        )
        .default("none"),
        Key::new("travel", TIME, r#""2 h""#, "Your hours on the way there and back, with loading the car.").default("none"),
        Key::new(
            "cost",
            Takes::Amount(Rule::of(Measure::Money)),
            "45",
            "What the day costs, sold or not: the pitch, fuel, a night away.",
        )
        .unit("money a day")
        .default("nothing"),
        Key::new("price", PRICE, "54", "What a buyer pays for a piece there, tax included.")
            .unit("money a piece")
            .default(AS_SALE),
        TAX.default(AS_SALE),
        FEE.default("none"),
    ],
};

pub(super) const SECONDS: Section = Section {
    word: "seconds",
    written: Written::Once,
    about: "How seconds are sold: pieces with a flaw that somebody takes for less. Without it they are thrown away. All of them find a \
            buyer, without a quote or an enquiry. The price floor stays that of a first. What they bring and the time of their orders \
            count with the making of the batch, so every channel bears its share. In a quote for one order (`floor --order`) a second \
            is no piece of it: another is made in its place, and what the second would bring is left out.",
    keys: &[
        Key::new("price", PRICE, "18", "What a buyer pays for a second, tax included.")
            .unit("money a piece")
            .needed("what a buyer pays for a second"),
        Key::new(
            "per_order",
            TIME,
            r#""3 / 5 / 10 min""#,
            "Hands-on time that an order of seconds takes, in place of the `per_order` of the steps.",
        )
        .default("the `per_order` of the steps"),
        TAX.default(AS_SALE),
        ORDER_OF.default(AS_SALE),
        FEE.default(AS_SALE),
        FEE_PER_ORDER.unit("money an order").default(AS_SALE),
        POST.default(AS_SALE),
        POST_CHARGED.default(AS_SALE),
        TIP.default(AS_SALE),
        RETURNED.default(AS_SALE),
    ],
};

pub(super) const CURRENCIES: Section = Section {
    word: "currencies",
    written: Written::Codes,
    about: "What one unit of another currency is worth in yours, one line a currency. An amount of money is then written with its \
            code: \"12 USD\".",
    keys: &[Key::new(
        "USD",
        Takes::Amount(Rule::positive(Measure::Number)),
        r#""0.86 / 0.91 / 0.97""#,
        "What one of it is worth in your own currency. It is the same for a whole batch.",
    )
    .default("the currency is not known")],
};

pub(super) const SHOP: Section = Section {
    word: "shop",
    written: Written::Once,
    about: "What the shop costs, however much is sold.",
    keys: &[
        Key::new(
            "per_hour",
            MONEY,
            "3.20",
            "Power, blades and wear for every hands-on hour.",
        )
        .unit("money an hour")
        .default("none"),
        Key::new("per_month", MONEY, "180", "Rent and insurance for a month.")
            .unit("money a month")
            .default("none")
            .with(&["hours_per_month"]),
        Key::new(
            "hours_per_month",
            // 744 hours are a month of 31 days without sleep.
            Takes::Amount(POSITIVE.up_to(Bound::To(744.0))),
            "60",
            "The hands-on hours of a usual month, which carry the rent.",
        )
        .unit("hours")
        .default("it is needed with `per_month`"),
    ],
};

pub(super) const SEASON: Section = Section {
    word: "season",
    written: Written::Once,
    about: "It sells only until a season ends. `season` says how many to make. Take [season] or [steady], not both.",
    keys: &[
        Key::new(
            "buyers",
            Takes::Buyers,
            r#""6 / 14 / 30""#,
            "How many pieces buyers want until the season ends, besides those sold on selling days. Pieces that a channel takes on sale or \
             return count among them, also those that come back `unsold`: with 10 and \"28 %\", 7.2 stay sold. A list is what they wanted in \
             earlier seasons: [9, 14, 22]. It may be 0 where all is sold on selling days.",
        )
        .needed("how many pieces buyers want"),
        Key::new("clearance", MONEY, "30", "What a piece fetches that is left over.")
            .unit("money a piece")
            .default("nothing"),
        Key::new(
            "leftover",
            Takes::Choice(&[
                Choice { word: "sell", about: "it is sold off at the clearance" },
                Choice {
                    word: "carry",
                    about: "it is kept for the next season, in which it saves what the last piece of a batch takes in material and hours",
                },
            ]),
            r#""carry""#,
            "What becomes of pieces that are left over.",
        )
        .default("sell")
        .with(&["hold", "weeks"]),
        Key::new(
            "hold",
            HOLD,
            r#""20 %""#,
            "What keeping a piece costs a year, as a share of the money tied up in it.",
        )
        .unit("per cent a year")
        .needed("what keeping costs a year, as a share of the money tied up")
        .default("it is needed with `leftover = \"carry\"`")
        .with(&["leftover", "weeks"]),
        Key::new(
            "weeks",
            Takes::Amount(POSITIVE.up_to(Bound::To(520.0))),
            "26",
            "How long it is until the next season.",
        )
        .unit("weeks")
        .needed("how long until the next season")
        .default("it is needed with `leftover = \"carry\"`")
        .with(&["leftover", "hold"]),
        Key::new(
            "elasticity",
            Takes::Amount(Rule::of(Measure::Number).up_to(Bound::To(20.0)).certain()),
            "2",
            "How much buyers mind the price, on selling days too. With 2, a price 1 % higher loses 2 % of the buyers.",
        )
        .default("0: they do not mind"),
        Key::new(
            "buyers_at",
            PRICE,
            "54",
            "The price at which you counted or guessed your buyers. They stay those of that price when you ask another one.",
        )
        .unit("money a piece")
        .default("the price you ask")
        .with(&["elasticity"]),
    ],
};

pub(super) const STEADY: Section = Section {
    word: "steady",
    written: Written::Once,
    about: "It sells all year. `steady` says how many to make at a time. Take [season] or [steady], not both. Selling days and \
            sale or return (`unsold`) go with no [steady].",
    keys: &[
        Key::new(
            "per_week",
            Takes::Amount(POSITIVE),
            "3",
            "How many pieces buyers want a week.",
        )
        .unit("pieces a week")
        .needed("how many pieces buyers want a week"),
        Key::new(
            "hold",
            HOLD,
            r#""20 %""#,
            "What keeping a finished piece costs a year, as a share of the money tied up in it.",
        )
        .unit("per cent a year")
        .default("none"),
        Key::new(
            "finished",
            Takes::Choice(&[
                Choice {
                    word: "together",
                    about: "all pieces of a batch are finished at once",
                },
                Choice {
                    word: "singly",
                    about: "they are finished one by one, so that fewer lie in stock: of half a batch 1 - (sold a week) / (made a week); this needs [hours]",
                },
            ]),
            r#""together""#,
            "When pieces of a batch can be sold.",
        )
        .default("together"),
    ],
};
