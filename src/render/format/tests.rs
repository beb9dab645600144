use super::*;

#[test]
fn what_is_to_be_paid_is_told_to_the_cent() {
    assert_eq!(amount(1079.5, "EUR"), "1,080");
    assert_eq!(exact_amount(1079.5, "EUR"), "1,079.50");
    assert_eq!(exact_amount(1080.0, "JPY"), "1,080");
    assert_eq!(exact_amount(0.125, "EUR"), amount(0.125, "EUR"));
}

#[test]
fn dates_are_written_with_their_weekday() {
    let thursday = jiff::civil::date(2026, 12, 3);
    assert_eq!(date(thursday, Some(2026)), "Thursday 3 December");
    assert_eq!(date(thursday, None), "Thursday 3 December 2026");
    let monday = jiff::civil::date(2027, 1, 4);
    assert_eq!(date(monday, Some(2026)), "Monday 4 January 2027");
    assert_eq!(short_date(monday, Some(2026)), "Mon 4 Jan 2027");
    assert_eq!(short_date(monday, Some(2027)), "Mon 4 Jan");
    assert_eq!(tick_date(monday, Some(monday.year())), "4 Jan");
    assert_eq!(tick_date(monday, None), format!("4 Jan {}", monday.year()));
    // 12:04 is 724 minutes; a sum of minutes may be off in its last digits; what ends after 23:45 is ready at midnight.
    let times = [
        (0.0, (0, "00:00")),
        (540.0, (0, "09:00")),
        (540.000_000_001, (0, "09:00")),
        (540.1, (0, "09:15")),
        (724.0, (0, "12:15")),
        (1425.0, (0, "23:45")),
        (1426.0, (1, "00:00")),
        (1440.0, (1, "00:00")),
    ];
    for (minutes, (day, text)) in times {
        assert_eq!(ready_at(minutes), (day, text.to_owned()), "{minutes}");
    }
    assert_eq!(days(1.0), "1 day");
    assert_eq!(days(2.345), "2.3 days");
    assert_eq!(days(0.0), "0 days");
}

#[test]
fn price_tags_lie_between_the_ends() {
    for (ends, best, tags) in [
        ([36.13, 44.9], 40.0, [36.5, 44.5]),
        ([117.2, 131.9], 125.0, [118.0, 130.0]),
        ([3.301, 3.74], 3.5, [3.35, 3.7]),
    ] {
        for (found, tag) in price_tags(ends, best).into_iter().zip(tags) {
            assert!((found - tag).abs() < 1e-12 * tag, "{ends:?}: {found}");
        }
    }
}

#[test]
fn money_has_the_digits_it_deserves() {
    let cases = [
        (28.421_052_6, "EUR", "28.42 EUR"),
        (0.0, "EUR", "0.00 EUR"),
        (-0.001, "EUR", "-0.001 EUR"),
        (-0.000_1, "EUR", "-0.0001 EUR"),
        (0.000_42, "EUR", "0.0004 EUR"),
        (1e-9, "EUR", "0.00 EUR"),
        // Dinars have a thousand fils, pesos of Chile no cents, and its unit of account four digits.
        (4.125, "KWD", "4.125 KWD"),
        (0.02, "BHD", "0.020 BHD"),
        (0.002, "OMR", "0.0020 OMR"),
        (0.2, "TND", "0.200 TND"),
        (5.141_59, "JOD", "5.142 JOD"),
        (2_500.5, "KWD", "2,500 KWD"),
        (12.4, "CLP", "12 CLP"),
        (0.31, "JPY", "0.3 JPY"),
        (1.5, "CLF", "1.5000 CLF"),
        (0.035, "EUR", "0.035 EUR"),
        (999.994, "EUR", "999.99 EUR"),
        (-1234.5, "EUR", "-1,234 EUR"),
        (1_234_567.0, "USD", "1,234,567 USD"),
        (4200.4, "JPY", "4,200 JPY"),
        (62.4, "JPY", "62 JPY"),
        (f64::INFINITY, "EUR", "none"),
        (f64::NAN, "EUR", "none"),
    ];
    for (value, currency, text) in cases {
        assert_eq!(money(value, currency), text, "{value}");
    }
    assert_eq!(typed_money(32.0, "EUR"), "32 EUR");
    assert_eq!(typed_money(28.5, "EUR"), "28.50 EUR");
    // What people typed is told as they typed it.
    for (typed, text) in [
        (1079.6, "1,079.60"),
        (0.5096, "0.5096"),
        (0.125, "0.125"),
        (0.05, "0.050"),
        (0.000_001, "0.000001"),
        (0.1 + 0.2, "0.30"),
        (100.0 / 3.0, "33.33"),
    ] {
        assert_eq!(typed_amount(typed, "EUR"), text);
    }
    assert_eq!(typed_amount(1079.6, "JPY"), "1,079.6");
    assert_eq!(typed_amount(f64::NAN, "EUR"), NONE);
    // What was reckoned has six digits only by chance, and is off them.
    assert_eq!(typed_amount(65.957_682_04, "EUR"), "65.96");
    assert_eq!(typed_amount(3.0 * 0.355, "EUR"), "1.065");
    // 29.997 is short of 30 and not 30.00; what rounding of sums leaves off is nothing.
    let hour = |rate: f64| money(short_of(rate, 30.0, "EUR"), "EUR");
    assert_eq!(
        [29.997, 29.99, 30.0 - 1e-12, 30.004].map(hour),
        ["29.99 EUR", "29.99 EUR", "30.00 EUR", "30.00 EUR"]
    );
    // Of the whole amounts told from 1,000 on, none lies above a price that is enough.
    assert_eq!(enough_money_beside(1079.5, 1079.6, "EUR"), "1,079.60 EUR");
    assert_eq!(enough_money_beside(1079.7, 1079.6, "EUR"), "1,080 EUR");
    assert_eq!(enough_money_beside(61.691, 62.0, "EUR"), "61.70 EUR");
    assert_eq!(enough_money_beside(61.995, 62.0, "EUR"), "62.00 EUR");
}

#[test]
fn hours_read_as_people_say_them() {
    let cases = [
        (0.0, "0 min"),
        (40.0 / 3600.0, "40 s"),
        (0.001 / 3600.0, "0.1 s"),
        (1.5 / 3600.0, "1.5 s"),
        (9.96 / 3600.0, "10 s"),
        (59.4 / 3600.0, "59 s"),
        (59.6 / 3600.0, "1 min"),
        (4.5 / 60.0, "4.5 min"),
        (9.96 / 60.0, "10 min"),
        (25.2 / 60.0, "25 min"),
        (59.6 / 60.0, "1 h"),
        (2.0 + 10.0 / 60.0, "2 h 10 min"),
        (2.0 - 0.001, "2 h"),
        (99.999, "100 h"),
        (1204.4, "1,204 h"),
        (-0.5, "-30 min"),
        (f64::NAN, "none"),
    ];
    for (value, text) in cases {
        assert_eq!(hours(value), text, "{value}");
    }
}

#[test]
fn a_days_work_is_told_in_whole_minutes() {
    let cases = [
        (0.0, "0 min"),
        (29.0 / 3600.0, "<1 min"),
        (31.0 / 3600.0, "1 min"),
        (4.6 / 60.0, "5 min"),
        (2.0 + 10.4 / 60.0, "2 h 10 min"),
    ];
    for (value, text) in cases {
        assert_eq!(whole_minutes(value), text, "{value}");
    }
}

#[test]
fn shares_do_not_round_into_none_or_all() {
    let cases = [
        (0.0, "0 %"),
        (0.004, "<1 %"),
        (0.83, "83 %"),
        (0.996, ">99 %"),
        (1.0, "100 %"),
        (f64::NAN, "none"),
    ];
    for (value, text) in cases {
        assert_eq!(share(value), text, "{value}");
    }
    assert_eq!(confidence(0.975), "97.5 %");
    let counted = [0.0, 0.004, 0.83, 0.996, 1.0].map(of_100);
    let words = [
        "none of 100",
        "fewer than 1 of 100",
        "83 of 100",
        "more than 99 of 100",
        "100 of 100",
    ];
    assert_eq!(counted, words);
    assert_eq!([0.8, 0.975].map(asked_of_100), ["80 of 100", "975 of 1,000"]);
    let beside = [0.794, 0.7981, 0.7999, 0.8, 0.8049].map(|share| of_100_beside(share, 0.8));
    assert_eq!(beside[..3], ["79 of 100", "798 of 1,000", "799 of 1,000"]);
    assert_eq!(beside[3..], ["80 of 100", "80 of 100"]);
    // Nothing reads as enough that is not, nor as too little.
    let finer = [
        (0.976, 0.978),
        (0.974, 0.972),
        (0.996, 0.998),
        (0.979, 0.978),
        (0.971, 0.978),
    ];
    let beside = finer.map(|(share, named)| of_100_beside(share, named));
    assert_eq!(beside[..3], ["976 of 1,000", "974 of 1,000", "996 of 1,000"]);
    assert_eq!(beside[3..], ["98 of 100", "97 of 100"]);
    assert_eq!(share_estimate(-0.012), "0 %");
    assert_eq!((points(0.01), points(0.005)), ("1 point".into(), "0.5 points".into()));
    assert_eq!(confidence(0.8), "80 %");
    assert_eq!(down_percent(0.146), "14 %");
    assert_eq!(down_percent(0.046_9), "4.6 %");
    assert_eq!(down_percent(0.3), "30 %");
    assert_eq!(down_percent(-0.093_1), "9.4 %");
    assert_eq!(percent_interval(0.0, 0.000_08), "under 0.1 %");
    assert_eq!(percent_interval(0.999_92, 1.0), "over 99.9 %");
    assert_eq!(percent_interval(0.0, 0.001), "0.0 to 0.1 %");
    assert_eq!(percent_interval(-0.002, 0.000_1), "-0.2 to 0.0 %");
    assert_eq!(down_percent_interval(0.148, 0.142, 0.154), "14 to 15 %");
    assert_eq!(down_percent_interval(0.146, 0.142, 0.149), "14 %");
    assert_eq!(down_percent_interval(0.046_9, 0.042_1, 0.051), "4.2 to 5.1 %");
    assert_eq!(down_percent_interval(-0.263, -0.266, -0.26), "26 to 27 %");
    // Some may be worse by, or must be better by, as much as is told; the other end lies beyond zero.
    assert_eq!(down_percent_interval(0.003, -0.028, 0.031), "-2.8 to 3.1 %");
    assert_eq!(down_percent_interval(-0.002, -0.01, 0.005), "-0.5 to 1 %");
    assert_eq!(down_percent_interval(0.002, -0.000_000_000_1, 0.005), "0 to 0.5 %");
    assert_eq!(down_times(2.04), "twice");
    assert_eq!(down_times(2.48), "2.4 times");
    let beside = |share, ends, named| chances_beside(share, ends, named).join(" | ");
    assert_eq!(beside(1.0 / 12.0, (0.0021, 0.3848), 0.01), "8 % | 0 to 38 % | 1 %");
    // 1 to 10 % and not 1 % would be no sense.
    assert_eq!(
        beside(4.0 / 104.0, (0.0106, 0.0956), 0.01),
        "3.8 % | 1.1 to 9.6 % | 1 %"
    );
    assert_eq!(beside(0.0, (0.0, 0.003_68), 0.003_7), "0 % | 0 to 0.368 % | 0.37 %");
}

#[test]
fn counts_and_intervals() {
    assert_eq!(count(50_000), "50,000");
    assert_eq!(count(999), "999");
    assert_eq!(mean_count(11.74), "11.7");
    assert_eq!(mean_count(12.0), "12");
    assert_eq!(nearest(14.6), "15");
    assert_eq!(factor(2.5), "2.5");
    for (value, text) in [
        (8.66, "8.7 weeks"),
        (1.0, "1 week"),
        (0.999, "1 week"),
        (0.5, "3.5 days"),
        (1.0 / 7.0, "1 day"),
    ] {
        assert_eq!(weeks(value), text);
    }
    assert_eq!(money_interval(26.1, 31.0, "EUR"), "26.10 to 31.00 EUR");
    assert_eq!(money_interval(26.1, 26.1004, "EUR"), "26.10 EUR");
    assert_eq!(money_interval(26.1, f64::INFINITY, "EUR"), "26.10 EUR or more");
    assert_eq!(share_interval(0.81, 0.85), "81 to 85 %");
    // "99 to >99 %" says of neither end where it is.
    assert_eq!(share_interval(0.992, 0.998), "99.2 to 99.8 %");
    assert_eq!(share_interval(0.002, 0.03), "0.2 to 3.0 %");
    assert_eq!(share_interval(0.9962, 0.998), ">99 %");
    assert_eq!(hours_interval(2.0, 3.5), "2 h to 3 h 30 min");
}

#[test]
fn sizes_are_joined_into_stretches() {
    assert_eq!(size_list(&[1, 2, 3, 5, 8, 9], |a, b| b == a + 1), "1-3, 5, 8, 9");
    assert_eq!(size_list(&[5, 10, 15], |a, b| b == a + 5), "5-15");
    assert_eq!(size_list(&[], |_, _| true), "");
    let cases: [(&[u32], &str); 8] = [
        (&[], ""),
        (&[7], "7"),
        (&[1, 6, 12], "1, 6, 12"),
        (&[1, 2, 3, 4], "1-4"),
        (&[1, 2, 4, 8], "1, 2, 4, 8"),
        (
            &[100, 500, 1000, 2000, 5000, 10_000],
            "100, 500, 1,000, 2,000, 5,000, 10,000",
        ),
        (&[2, 4, 6, 8, 9, 10, 11], "2-8 by 2, 9-11"),
        (
            &[5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 100],
            "5-30 by 5, 40-70 by 10, 100",
        ),
    ];
    for (sizes, text) in cases {
        assert_eq!(sizes_written(sizes), text);
    }
}

#[test]
fn ticks_have_the_digits_of_their_step() {
    assert_eq!(tick(0.25, 0.05), "0.25");
    assert_eq!(tick(0.5, 0.1), "0.5");
    assert_eq!(tick(40.0, 10.0), "40");
    assert_eq!(tick(-1500.0, 500.0), "-1,500");
    assert_eq!(tick_scale(0.0, 999_000.0), (1.0, ""));
    assert_eq!(tick_scale(-2.5e6, 0.0), (1e6, "million "));
}

/// Of 35.06 a fiftieth is 0.70: in halves. Of 7,310 it is 146: in hundreds.
#[test]
fn a_price_tag_is_round() {
    for (price, tag) in [
        (35.06, "35 EUR"),
        (31.3, "31.50 EUR"),
        (7_310.0, "7,300 EUR"),
        (0.83, "0.83 EUR"),
    ] {
        assert_eq!(price_tag(price, "EUR"), tag);
    }
}

/// A price floor is told as a price that is enough, to the cent or, from a thousand on, to the whole.
#[test]
fn what_is_told_is_enough() {
    for (floor, currency, told) in [
        (61.571_2, "EUR", "61.58 EUR"),
        (61.57, "EUR", "61.57 EUR"),
        (61.57 * (1.0 + 1e-14), "EUR", "61.57 EUR"),
        (1_079.2, "EUR", "1,080 EUR"),
        (999.996, "EUR", "1,000 EUR"),
        (59.2, "JPY", "60 JPY"),
        (0.005_12, "EUR", "0.006 EUR"),
        (0.0, "EUR", "0.00 EUR"),
    ] {
        assert_eq!(enough_money(floor, currency), told);
        assert!(enough(floor, currency) >= floor * (1.0 - 1e-12));
    }
}
