//! What of a chart stands for a row of its answer's tables: where it lies, so that a page can say the figures under a pointer.

use super::labels::Rect;
use super::map;
use super::names;
use super::page::Page;
use crate::render::plot::{Curves, Field, Plot, Shape, SpotSaid};

/// A place of a chart, in pixels of the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// Left, top, right and lower end of the ground that belongs to it.
    pub area: [f64; 4],
    /// What it stands for.
    pub of: Of,
}

/// What a place stands for.
#[derive(Debug, Clone, PartialEq)]
pub enum Of {
    /// A value on the level axis.
    Value(f64),
    /// A row with this name.
    Name(String),
    /// A cell of a map: its column, its row and its figure.
    Cell([String; 3]),
    /// Something that no table has a row for: what the plot says of it.
    Told(SpotSaid),
}

/// The places of a plot on this page, panel by panel from the top, each from left to right or from the top down.
pub(super) fn of(page: &Page, plot: &Plot) -> Vec<Spot> {
    let panels = plot.panels.iter().zip(page.stacked(plot));
    let each = panels.flat_map(|(panel, bounds)| match &panel.field {
        Field::Curves(curves) => {
            let scale = panel.axis.scale;
            let x = |value| bounds.x0 + (bounds.x1 - bounds.x0) * scale.share(value);
            if panel.told.is_empty() {
                let values = values(curves);
                return upright(&values, bounds, x, |k| Of::Value(values[k]));
            }
            let values: Vec<f64> = panel.told.iter().map(|(value, _)| *value).collect();
            upright(&values, bounds, x, |k| Of::Told(panel.told[k].1.clone()))
        }
        Field::Rows { names, .. } => {
            let ends = names::tops(&page.paper.row_names(panel, names), bounds).0;
            let row = |(k, name): (usize, &String)| Spot {
                area: [0.0, ends[k], page.paper.width, ends[k + 1]],
                of: match panel.told.get(k) {
                    Some((_, said)) => Of::Told(said.clone()),
                    None => Of::Name(name.clone()),
                },
            };
            names.iter().enumerate().map(row).collect()
        }
        Field::Map(of) => map::places(page, bounds, of)
            .into_iter()
            .map(|(cell, place)| Spot {
                area: ends(place),
                of: Of::Cell([
                    of.columns[cell.at.0].clone(),
                    of.rows[cell.at.1].clone(),
                    cell.figure.clone(),
                ]),
            })
            .collect(),
    });
    each.collect()
}

const fn ends(of: Rect) -> [f64; 4] {
    [of.x0, of.y0, of.x1, of.y1]
}

/// Every value that a curve, a band or a bar stands at, ascending.
fn values(curves: &Curves) -> Vec<f64> {
    let mut all: Vec<f64> = Vec::new();
    for layer in &curves.layers {
        match &layer.shape {
            Shape::Curve { points, .. } => all.extend(points.iter().map(|point| point.0)),
            Shape::Band { points, .. } | Shape::Bars { points, .. } | Shape::Spread(points) => {
                all.extend(points.iter().map(|point| point.0));
            }
            _ => {}
        }
    }
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// Each value has the ground half-way to its neighbours; `of` says what the value with this number stands for.
fn upright(values: &[f64], bounds: Rect, x: impl Fn(f64) -> f64, of: impl Fn(usize) -> Of) -> Vec<Spot> {
    let at: Vec<f64> = values.iter().map(|value| x(*value)).collect();
    let between = |k: usize| (at[k - 1] + at[k]) / 2.0;
    let spot = |k: usize| Spot {
        area: [
            if k == 0 { bounds.x0 } else { between(k) },
            bounds.y0,
            if k + 1 == at.len() { bounds.x1 } else { between(k + 1) },
            bounds.y1,
        ],
        of: of(k),
    };
    (0..values.len()).map(spot).collect()
}
