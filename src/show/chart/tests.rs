//! Charts of every kind of answer: whole, well formed, the same in SVG and PNG.

use super::*;
use crate::show::samples::gallery;

const HEADLINE: &str = "Make at least 12 at a time: from there on the target is reached in four runs out of five, and a one-off earns a third of it.";

/// Writes every sample's chart to a folder of the machine's temporary files, for looking at:
/// `cargo test --lib charts_to_look_at -- --ignored`
#[test]
#[ignore = "writes pictures for a person to look at"]
fn charts_to_look_at() {
    let folder = std::env::temp_dir().join("batchwright-charts");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, answer) in gallery() {
        let start = std::time::Instant::now();
        let picture = sweep_png(&answer, HEADLINE).unwrap();
        let png_time = start.elapsed();
        std::fs::write(folder.join(format!("{name}.png")), &picture).unwrap();
        let start = std::time::Instant::now();
        let drawing = sweep_svg(&answer, HEADLINE).unwrap();
        let svg_time = start.elapsed();
        std::fs::write(folder.join(format!("{name}.svg")), &drawing).unwrap();
        std::fs::write(
            folder.join(format!("{name}.time")),
            format!("png {png_time:?} {} svg {svg_time:?} {}", picture.len(), drawing.len()),
        )
        .unwrap();
    }
}
