//! Where the search begins: estimates that slips of the pen do not move, and the normal equations of two unknowns.

use super::{Prior, Row, SLIP_LEAST, SLIP_OF_FEW};

/// Standard deviation of the file's setup and time a piece about their truth, over themselves once they are brought to the log's level.
const GIVE: f64 = 1.5;

/// The file's times brought to the log's level: by the median ratio where some may be slips, which half of them do not move.
pub(super) fn level(rows: &[Row], prior: &Prior) -> [f64; 2] {
    let mut ratios: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|row| {
            let mean = row.mean(prior.times);
            (mean > 0.0).then(|| (row.minutes / mean, mean))
        })
        .collect();
    if ratios.is_empty() {
        return prior.times;
    }
    ratios.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The median of minutes, not of entries: large entries say more of the level.
    let half = 0.5 * ratios.iter().map(|r| r.1).sum::<f64>();
    let mut sum = 0.0;
    let mut at = 1.0;
    for (ratio, mean) in ratios {
        sum += mean;
        at = ratio;
        if sum >= half {
            break;
        }
    }
    prior.times.map(|t| t * at)
}

/// Which of two to four rows are far off each of the others, at the file's proportion of setup to pieces, and far off the file: the first such one of three
/// or four; of two it may be both, as nothing says which of them is right. Another must have timed the same: where one setup and one lot of pieces were
/// timed, it may be the file that has one of them wrong.
pub(super) fn slips_of_few(rows: &[Row], file: [f64; 2]) -> Vec<usize> {
    let off: Vec<f64> = rows.iter().map(|row| libm::log(row.minutes / row.mean(file))).collect();
    let timed = |k: usize| [rows[k].rounds > 0.0, rows[k].units > 0.0];
    let far = |k: &usize| {
        let others = || (0..rows.len()).filter(|other| other != k);
        let nearest = others().fold(off[*k].abs(), |near, other| near.min((off[*k] - off[other]).abs()));
        // A row of which the file has nothing is far off nothing.
        off[*k].is_finite() && nearest > libm::log(SLIP_OF_FEW) && others().any(|other| timed(other) == timed(*k))
    };
    let most = if rows.len() > 2 { 1 } else { 2 };
    (0..rows.len()).filter(far).take(most).collect()
}

/// Tukey's biweight on relative residuals from the file's times at the log's level, and which rows it leaves out.
pub(super) fn robust(rows: &[Row], start: [f64; 2]) -> ([f64; 2], Vec<bool>) {
    let mut times = start;
    let mut doubtful = vec![false; rows.len()];
    for _ in 0..12 {
        let off: Vec<f64> = rows
            .iter()
            .map(|row| libm::log(row.minutes / row.mean(times).max(1e-9)))
            .collect();
        let mut size: Vec<f64> = off.iter().map(|o| o.abs()).collect();
        size.sort_by(f64::total_cmp);
        let scale = (1.4826 * size[size.len() / 2]).clamp(0.03, 0.6);
        let reach = 4.685 * scale;
        let mut sums = [0.0; 5];
        for ((row, off), doubt) in rows.iter().zip(&off).zip(&mut doubtful) {
            let u = off / reach;
            *doubt = u.abs() >= 1.0 && off.abs() > libm::log(SLIP_LEAST);
            if u.abs() >= 1.0 {
                continue;
            }
            let weight = (1.0 - u * u) * (1.0 - u * u);
            let mean = row.mean(times).max(1e-9);
            let w = weight / (mean * mean * scale * scale);
            let left = row.minutes - row.mean(times);
            sums[0] += w * row.rounds * row.rounds;
            sums[1] += w * row.rounds * row.units;
            sums[2] += w * row.units * row.units;
            sums[3] += w * row.rounds * left;
            sums[4] += w * row.units * left;
        }
        let give = give(&Prior {
            times: start,
            varies: [0.0; 3],
            pace: None,
        });
        let precision = give.map(|g| if g > 0.0 { 1.0 / (g * g) } else { f64::INFINITY });
        let change = solve(
            [sums[0], sums[1], sums[2]],
            [sums[3], sums[4]],
            precision,
            [start[0] - times[0], start[1] - times[1]],
        )
        .0;
        for k in 0..2 {
            // Not below a twentieth of where it began: a mean must stay above nothing.
            times[k] = (times[k] + change[k]).max(0.05 * start[k]);
        }
    }
    (times, doubtful)
}

/// `(X'X + P)^-1 (X'y + P b)`, that inverse, the trace of `X'X` times it, and its determinant's logarithm (that of the parts looked for); a part with an
/// infinite precision is not looked for.
#[allow(clippy::type_complexity, reason = "the four are one solution")]
pub(super) fn solve(
    xx: [f64; 3],
    xy: [f64; 2],
    precision: [f64; 2],
    prior: [f64; 2],
) -> ([f64; 2], [f64; 3], f64, f64) {
    let (p, q) = (precision[0], precision[1]);
    match (p.is_finite(), q.is_finite()) {
        (true, true) => {
            let (a, b, c) = (xx[0] + p, xx[1], xx[2] + q);
            let det = a * c - b * b;
            let (g, h) = (xy[0] + p * prior[0], xy[1] + q * prior[1]);
            let inverse = [c / det, -b / det, a / det];
            let trace = xx[0] * inverse[0] + 2.0 * xx[1] * inverse[1] + xx[2] * inverse[2];
            (
                [(c * g - b * h) / det, (a * h - b * g) / det],
                inverse,
                trace,
                libm::log(det),
            )
        }
        (true, false) => {
            let a = xx[0] + p;
            (
                [(xy[0] + p * prior[0]) / a, 0.0],
                [1.0 / a, 0.0, 0.0],
                xx[0] / a,
                libm::log(a),
            )
        }
        (false, true) => {
            let c = xx[2] + q;
            (
                [0.0, (xy[1] + q * prior[1]) / c],
                [0.0, 0.0, 1.0 / c],
                xx[2] / c,
                libm::log(c),
            )
        }
        (false, false) => ([0.0; 2], [0.0; 3], 0.0, 0.0),
    }
}

/// How far the truth of each part may be from the file's: where only one is looked for, its level is the log's alone.
pub(super) fn give(prior: &Prior) -> [f64; 2] {
    let one = prior.times.iter().any(|t| *t <= 0.0);
    prior.times.map(|t| match (t > 0.0, one) {
        (false, _) => 0.0,
        (true, true) => f64::INFINITY,
        (true, false) => GIVE * t,
    })
}
