//! By hand where a step's sums can be done so, and against the textbook law where only one time is looked for.

use super::around::Around;
use super::start::{give, robust, solve};
use super::{Posterior, Prior, Row};
use statrs::distribution::{ContinuousCDF, StudentsT};

fn row(job: usize, rounds: f64, units: f64, minutes: f64) -> Row {
    Row {
        rounds,
        units,
        minutes,
        job,
    }
}

fn prior(setup: f64, piece: f64) -> Prior {
    Prior {
        times: [setup, piece],
        varies: [0.01, 0.04, 0.04],
        pace: None,
    }
}

fn close(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() <= 1e-9 * expected.abs().max(1e-3),
        "{found}, by hand {expected}"
    );
}

fn all_close<const N: usize>(found: [f64; N], expected: [f64; N]) {
    for (found, expected) in found.into_iter().zip(expected) {
        close(found, expected);
    }
}

/// 3 and 5 on the diagonal and 1 beside it, once the precisions 1 and 2 are put to 2 and 3: the determinant is 14.
#[test]
fn normal_equations_by_hand() {
    let (xx, xy, beforehand, none) = ([2.0, 1.0, 3.0], [4.0, 5.0], [1.0, -1.0], f64::INFINITY);
    let same = |found: ([f64; 2], [f64; 3], f64, f64), times, inverse, trace, ln_det| {
        all_close(found.0, times);
        all_close(found.1, inverse);
        close(found.2, trace);
        close(found.3, ln_det);
    };
    // 3 S + t = 4 + 1 and S + 5 t = 5 - 2.
    let both = solve(xx, xy, [1.0, 2.0], beforehand);
    let inverse = [5.0 / 14.0, -1.0 / 14.0, 3.0 / 14.0];
    same(both, [22.0 / 14.0, 4.0 / 14.0], inverse, 17.0 / 14.0, 14_f64.ln());
    let setup = solve(xx, xy, [1.0, none], beforehand);
    same(setup, [5.0 / 3.0, 0.0], [1.0 / 3.0, 0.0, 0.0], 2.0 / 3.0, 3_f64.ln());
    let piece = solve(xx, xy, [none, 2.0], beforehand);
    same(piece, [0.0, 3.0 / 5.0], [0.0, 0.0, 1.0 / 5.0], 3.0 / 5.0, 5_f64.ln());
    same(solve(xx, xy, [none; 2], beforehand), [0.0; 2], [0.0; 3], 0.0, 0.0);
    // The file's times are believed give or take half as much again as all of them.
    all_close(give(&prior(4.0, 2.0)), [6.0, 3.0]);
}

/// One job of two entries that take 2 minutes each by the times: with half of the variance the pace's, and setup and piece alike, it is ((4, 2), (2, 4)),
/// its inverse ((4, -2), (-2, 4)) / 12.
#[test]
fn entries_of_one_job_are_weighed_together() {
    let rows = [row(0, 1.0, 1.0, 3.0), row(0, 0.0, 2.0, 6.0)];
    let prior = prior(1.0, 1.0);
    let around = Around::new(&rows, [1.0, 1.0], &prior);
    let (xx, xy, yy, ln_det) = around.sums([0.5, 0.25, 0.25]);
    all_close(xx, [1.0 / 3.0, 0.0, 1.0]);
    all_close(xy, [-1.0 / 3.0, 2.0]);
    // Besides 13 / 3, what reading a clock to a thousandth makes of the two: half of 4 millionths.
    close(yy, 13.0 / 3.0 + 2e-6);
    close(ln_det, 12_f64.ln());
}

/// Shares of a cell are those of one variance; without a split the cells fill the way from no pace to nothing else.
#[test]
fn the_grid_covers_every_division_of_the_variance() {
    let rows = [row(0, 1.0, 4.0, 30.0), row(1, 1.0, 9.0, 50.0)];
    for (prior, alone) in [(prior(10.0, 5.0), false), (prior(0.0, 5.0), true)] {
        let around = Around::new(&rows, prior.times, &prior);
        let cells = around.grid();
        for (shares, _) in &cells {
            close(shares.iter().sum(), 1.0);
            assert!(shares.iter().all(|s| *s >= 0.0), "{shares:?}");
        }
        if alone {
            close(cells.iter().map(|(_, cell)| cell.exp()).sum(), 1.0);
        }
    }
}

/// Setup and piece take 4 minutes each. Of a setup alone and of one with a piece, setups make `(1 + 1/4) / 2` of a squared coefficient of variation, pieces
/// half of 1/4: with a = 0.02 and e = 0.01 a typical entry has `0.02 * 5/8 + 0.01 / 8 = 0.01375` beside the pace's 0.00625. How setup and piece are to
/// each other is believed alike where both entries are whole.
#[test]
fn what_is_believed_of_setup_and_piece_is_the_same_whatever_was_timed() {
    let varies = [0.00625, 0.02, 0.01];
    let prior = Prior {
        varies,
        ..prior(4.0, 4.0)
    };
    let apart = [row(0, 1.0, 0.0, 4.0), row(1, 1.0, 1.0, 8.0)];
    let whole = [row(0, 1.0, 1.0, 8.0), row(1, 1.0, 1.0, 8.0)];
    let [apart, whole] = [&apart, &whole].map(|rows| Around::new(rows, prior.times, &prior));
    let rest = 0.01375 / 0.02;
    let shares = [1.0 - rest, rest * 2.0 / 3.0, rest / 3.0];
    all_close(apart.of_file().expect("ranges"), shares);
    all_close(apart.varies(shares), varies.map(|v| v / 0.02));
    for ((one, _), (other, _)) in apart.grid().iter().zip(whole.grid()) {
        let [one, other] = [apart.varies(*one), whole.varies(other)];
        close(one[1] / one[2], other[1] / other[2]);
    }
}

/// Only pieces, one a job: whatever the shares, each entry varies as the others, so that the mean has Student's t about the average and a new
/// piece has it with its own chance besides.
#[test]
fn one_time_alone_is_the_textbooks() {
    let minutes = [8.0, 9.0, 11.0, 12.0, 10.0, 13.0, 9.5, 11.5];
    let n = minutes.len() as f64;
    let average = minutes.iter().sum::<f64>() / n;
    let freedom = n - 1.0;
    let variance = minutes.iter().map(|m| (m - average).powi(2)).sum::<f64>() / freedom;
    let law = StudentsT::new(0.0, 1.0, freedom).expect("a law");
    // Ends are looked for to a thousand-millionth of the standard deviation.
    let is_at = |end: f64, sd: f64, q: f64| {
        let found = law.cdf((end - average) / sd);
        assert!((found - q).abs() < 1e-8, "{end}: {found}, not {q}");
    };
    for part in [0, 1] {
        let [r, d] = if part == 0 { [1.0, 0.0] } else { [0.0, 1.0] };
        let rows: Vec<Row> = minutes.iter().enumerate().map(|(k, m)| row(k, r, d, *m)).collect();
        let found = Posterior::of(&rows, &prior(7.0 * r, 7.0 * d));
        assert!(found.apart.is_empty() && found.jobs == rows.len());
        close(found.sum(r, d).mean, average);
        close(found.sum(r, d).sd, (variance / n).sqrt());
        let sd = (variance / n).sqrt();
        let below = law.cdf(-average / sd);
        let (low, high) = found.ends(r, d);
        for (end, q) in [(low, 0.025), (high, 0.975)] {
            is_at(end, sd, below + q * (1.0 - below));
        }
        let (low, high) = found.new_job(r, d, 0.8);
        for (end, q) in [(low, 0.1), (high, 0.9)] {
            is_at(end, (variance * (1.0 + 1.0 / n)).sqrt(), q);
        }
        // A job is one of n.
        for (_, moves) in &found.by_job {
            all_close(*moves, [r * average / n, d * average / n]);
        }
    }
}

/// One job is all setup, the other all piece, and no pace ties them: of what both are off, the file's times, believed give or take
/// one and a half, hold back their part.
#[test]
fn the_file_holds_a_job_back() {
    let rows = [row(0, 1.0, 0.0, 5.0), row(1, 0.0, 1.0, 3.0)];
    let prior = prior(4.0, 2.0);
    let around = Around::new(&rows, prior.times, &prior);
    let shares = [0.0, 0.5, 0.5];
    let scale = around.node(shares, 0.0).1.varies[1];
    assert!(scale > 1e-4);
    let moves = around.by_job(shares);
    let kept = 1.0 / (1.0 + scale / 2.25);
    all_close(moves[0].1, [4.0 * kept, 0.0]);
    all_close(moves[1].1, [0.0, 2.0 * kept]);
}

/// Variances and the covariance of the parts make that of any sum of them.
#[test]
fn parts_vary_as_their_sums_do() {
    let minutes = [24.0, 41.0, 66.0, 47.0, 78.0, 33.0];
    let units = [2.0, 5.0, 10.0, 6.0, 12.0, 4.0];
    let rows: Vec<Row> = (0..6).map(|k| row(k, 1.0, units[k], minutes[k])).collect();
    let found = Posterior::of(&rows, &prior(12.0, 5.0));
    let [setup, both, piece] = found.error();
    assert!(both < 0.0 && found.nodes.len() > 1);
    for (r, d) in [(1.0, 0.0), (0.0, 1.0), (1.0, 1.0), (2.0, 7.0)] {
        let sum = found.sum(r, d);
        close(sum.sd * sum.sd, setup * r * r + 2.0 * both * r * d + piece * d * d);
        close(sum.mean, r * found.sum(1.0, 0.0).mean + d * found.sum(0.0, 1.0).mean);
    }
}

/// 30 minutes a setup and 6 a piece, told as good as exactly, and once ten times that: the slip is seen, and moves nothing.
#[test]
fn a_slip_is_set_apart() {
    let off = [1.01, 0.99, 1.0, 1.01, 0.99, 1.0, 10.0];
    let units = [2.0, 5.0, 8.0, 10.0, 12.0, 20.0, 9.0];
    let rows: Vec<Row> = (0..7)
        .map(|k| row(k, 1.0, units[k], off[k] * (30.0 + 6.0 * units[k])))
        .collect();
    let ([setup, piece], doubtful) = robust(&rows, [15.0, 9.0]);
    assert!(
        (setup - 30.0).abs() < 1.5 && (piece - 6.0).abs() < 0.3,
        "{setup} {piece}"
    );
    assert_eq!(doubtful, [false, false, false, false, false, false, true]);
    let found = Posterior::of(&rows, &prior(15.0, 9.0));
    assert_eq!(found.apart, [6]);
    assert!(
        (found.times[0] - 30.0).abs() < 1.5 && (found.times[1] - 6.0).abs() < 0.3,
        "{:?}",
        found.times
    );
}

/// Of five entries one is tripled. The other four leave open how entries vary; the file's ranges do not, and where it has none, nothing is set apart. Times that
/// scatter more than a narrow file has it are no slips.
#[test]
fn of_five_entries_a_slip_is_seen_beside_the_files_ranges() {
    let of = |by: [f64; 5], varies: [f64; 3]| {
        let rows: Vec<Row> = [5.0, 12.0, 8.0, 17.0, 9.0]
            .into_iter()
            .zip(by)
            .enumerate()
            .map(|(job, (units, by))| row(job, 1.0, units, by * (20.0 + 8.0 * units)))
            .collect();
        let prior = Prior {
            varies,
            ..prior(20.0, 8.0)
        };
        Posterior::of(&rows, &prior).apart
    };
    let (tripled, wide) = ([1.1, 0.9, 1.12, 0.92, 3.0], [1.6, 0.7, 1.3, 0.6, 1.1]);
    assert_eq!(of(tripled, [0.01, 0.04, 0.04]), [4]);
    assert_eq!(of(tripled, [0.0; 3]), [0; 0]);
    assert_eq!(of(wide, [1e-4; 3]), [0; 0]);
}

/// Of three entries at 8 min a piece and 20 of setup one is ten times too long, or too short: it is left out, and the rest say what they say. Where
/// the file is wrong by as much as the entry, or the others are as far off as it is, all three are kept.
#[test]
fn one_of_three_is_a_slip_where_it_is_far_off_the_others_and_the_file() {
    let of = |by: [f64; 3], file: [f64; 2]| {
        let rows: Vec<Row> = [7.0, 12.0, 9.0]
            .into_iter()
            .zip(by)
            .enumerate()
            .map(|(job, (units, by))| Row {
                rounds: 1.0,
                units,
                minutes: by * (20.0 + 8.0 * units),
                job,
            })
            .collect();
        Posterior::of(&rows, &prior(file[0], file[1])).apart
    };
    assert_eq!(of([1.0, 1.0, 10.0], [20.0, 8.0]), [2]);
    assert_eq!(of([0.1, 1.0, 1.0], [20.0, 8.0]), [0]);
    assert_eq!(of([1.0, 1.1, 3.0], [20.0, 8.0]), [0; 0]);
    // The file is a tenth of the truth: all are alike.
    assert_eq!(of([1.0, 1.0, 1.0], [2.0, 0.8]), [0; 0]);
    // The long one is as the file has it.
    assert_eq!(of([1.0, 1.0, 10.0], [200.0, 80.0]), [0; 0]);
}

/// 12 and 540 min a piece: the one that is far off the file, and both where neither is near it. A setup and a lot of pieces say nothing of each other.
#[test]
fn two_entries_are_held_against_each_other_and_the_file() {
    let of = |what: [[f64; 2]; 2], minutes: [f64; 2], piece: f64| {
        let rows: Vec<Row> = (0..2).map(|k| row(k, what[k][0], what[k][1], minutes[k])).collect();
        Posterior::of(&rows, &prior(5.0, piece)).apart
    };
    let pieces = [[0.0, 1.0]; 2];
    assert_eq!(of(pieces, [12.0, 540.0], 12.0), [1]);
    assert_eq!(of(pieces, [12.0, 540.0], 540.0), [0]);
    assert_eq!(of(pieces, [12.0, 540.0], 85.0), [0, 1]);
    assert_eq!(of(pieces, [12.0, 47.0], 12.0), [0; 0]);
    assert_eq!(of(pieces, [12.0, 49.0], 12.0), [1]);
    assert_eq!(of([[1.0, 0.0], [0.0, 10.0]], [60.0, 60.0], 6.0), [0; 0]);
}
