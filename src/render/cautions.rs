//! What can hurt someone, by the work that a step or a material is called after.
//!
//! A short caution for each kind of work, and to whom it defers: labels, makers of tools, local rules, licensed people. Names are the
//! maker's own, so work that is called otherwise goes without; a page never promises that its cautions are all there are.
//!
//! What each says is common practice, no source, but for dust of clay and stone, glaze and solvents, which the labels and local rules
//! of the trade say.

use crate::scenario::Scenario;

/// Most cautions on a page that is about something else.
const FEW: usize = 3;

/// What dries in air and warms up as it does, by its beginnings: oils for wood, and the work of laying them on. Oils for soap, candles and
/// leather do not dry, nor does wax.
const DRYING: &[&str] = &[
    "oil ",
    "and oil",
    "linseed",
    "flaxseed",
    "tung",
    "boiled oil",
    "danish oil",
    "teak oil",
    "walnut oil",
    "wood oil",
    "hard oil",
    "hardening oil",
    "hardwax",
    "hard wax",
    "hard-wax",
    "finishing oil",
];
/// Work that lays on such an oil where [`WOOD`] is worked, and says nothing of it elsewhere.
const LAID_ON: &[&str] = &["finish", "stain"];
const WOOD: &[&str] = &["mill", "plane", "sand", "mortise", "tenon", "wood", "timber", "boards"];
const OILY_RAGS: &str = "Oily rags can set themselves alight: spread them out flat to dry, or keep them under water in a metal tin with a lid.";

/// Beginnings of words, and the caution that goes with them.
const WORK: &[(&[&str], &str)] = &[
    (
        // "fire the mugs", but not "light the fire".
        &["kiln", "firing", "fire ", "bisque", "raku", "anneal"],
        "A hot kiln burns, and its fumes need air: open it when its maker says, and leave its wiring to a licensed electrician.",
    ),
    (
        &[
            "clay",
            "throw",
            "slip cast",
            "slip trail",
            "glaze",
            "plaster",
            "stone",
            "grout",
        ],
        "Dust of clay, glaze and stone harms lungs: wipe it up wet, and wear the mask that the label names.",
    ),
    (
        &[
            "grind", "sharpen", "polish", "buff", "file", "wheel", "turn", "lathe", "forge", "hammer",
        ],
        "Wear eye protection, and nothing loose near what turns; sparks and grit fly further than one thinks.",
    ),
    (
        &[
            "saw", "mill", "plane", "rout", "drill", "sand", "joint", "mortise", "tenon", "wood", "timber", "boards",
        ],
        "Guards stay on, eyes and ears are covered, and dust goes into the extraction; fine wood dust can also burn.",
    ),
    (
        &["cut", "skive", "score", "trim", "knife", "blade", "carve"],
        "Cut away from yourself with a sharp blade, keep the other hand behind it, and leave the guard on a machine that cuts.",
    ),
    (
        &["print", "platen", "letterpress"],
        "Keep hands clear of a press while it moves, leave its guards on, and read the ink's label for gloves and air.",
    ),
    (DRYING, OILY_RAGS),
    (
        &[
            "solvent",
            "thinner",
            "spirit",
            "turpentine",
            "lacquer",
            "varnish",
            "shellac",
            "acetone",
            "spray",
            "degrease",
        ],
        "Solvents need air and no flame or spark nearby; the label says which gloves, and local rules say where rags go.",
    ),
    (
        &["forge", "anvil", "quench", "hearth"],
        "Hot metal burns long after its glow is gone: keep water at hand, lay it where nobody reaches for it, and let fumes out.",
    ),
    (
        &[
            "solder", "braze", "weld", "torch", "flame", "melt", "cast", "candle", "enamel",
        ],
        "Flame and molten stuff need a clear bench, air, an extinguisher within reach, and somebody who stays until all is cold.",
    ),
    (
        &["resin", "epoxy", "dye", "acid", "etch", "patina", "lye", "mordant"],
        "Wear the gloves and use the air that the label names, and never mix what it does not name.",
    ),
    (
        &["wire", "wiring", "lamp", "socket", "electri", "element", "heat"],
        "Pull the plug before you touch an element or a wire; what others will plug in, a licensed person must test.",
    ),
    (
        &[
            "hang",
            "wall",
            "install",
            "mount",
            "deliver and fix",
            "fix to",
            "fix on",
        ],
        "Before you drill a wall, find its pipes and cables; a fixing must bear the load, and local rules or a licensed person say the rest.",
    ),
    (
        &["lift", "carry", "deliver", "load", "clamp"],
        "Lift heavy pieces with two, and tie them down before you drive.",
    ),
];

/// The cautions that go with what something is called, in a fixed order.
fn of_names<'a>(names: impl Iterator<Item = &'a str>) -> Vec<&'static str> {
    let names: Vec<String> = names.map(str::to_lowercase).collect();
    let begins = |name: &String, word: &str| {
        let places = name.match_indices(word);
        places
            .into_iter()
            .any(|(at, _)| !name[..at].ends_with(char::is_alphanumeric))
            || name == word.trim_end()
    };
    let goes_with = |words: &[&str]| words.iter().any(|word| names.iter().any(|name| begins(name, word)));
    let laid_on = goes_with(LAID_ON) && goes_with(WOOD);
    WORK.iter()
        .filter(|(words, caution)| goes_with(words) || laid_on && *caution == OILY_RAGS)
        .map(|(_, caution)| *caution)
        .collect()
}

/// Everything that the work of a scenario calls for: its steps, what holds them, and its materials.
pub(crate) fn of_scenario(scenario: &Scenario) -> Vec<&'static str> {
    let steps = scenario
        .steps
        .iter()
        .flat_map(|step| std::iter::once(step.name.as_str()).chain(step.kept_in.as_deref()));
    of_names(steps.chain(scenario.materials.iter().map(|material| material.name.as_str())))
}

/// The first few for these steps, each followed by a space; nothing where none is called for.
pub(crate) fn of_steps<'a>(steps: impl Iterator<Item = &'a str>) -> String {
    let few = of_names(steps).into_iter().take(FEW);
    few.map(|caution| format!("{caution} ")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_is_known_by_the_beginnings_of_its_words() {
        let found = |names: &[&str]| of_names(names.iter().copied()).len();
        assert_eq!(found(&["draw and try out", "photograph and list"]), 0);
        // "profile" is no file, and "boil" no oil.
        assert_eq!(found(&["profile", "boil"]), 0);
        assert_eq!(found(&["Bisque firing"]), 1);
        // A smith's fire is no kiln, and hot metal has its own caution.
        assert_eq!(
            (found(&["fire"]), found(&["fire the tiles"]), found(&["light the fire"])),
            (1, 1, 0)
        );
        assert!(of_names(["forge the hook"].into_iter()).concat().contains("Hot metal"));
        assert_eq!(found(&["grind the edge", "re-sand", "deliver and fix"]), 4);
        assert!(
            of_steps(["saw", "oil", "glaze", "weld"].into_iter())
                .matches(". ")
                .count()
                >= FEW
        );
    }

    /// What is felted, sewn or shaped is no wood, and a stitch no slip of clay; wood and clay are still known.
    #[test]
    fn soft_goods_go_without_the_cautions_of_wood_and_clay() {
        let of = |names: &[&str]| of_names(names.iter().copied());
        let soft = [
            "felt the crown",
            "shape the brim",
            "slip stitch the lining",
            "weave the border",
            "fold and sew",
            "greyboard",
            "cardboard sleeve",
        ];
        assert_eq!(of(&soft), [] as [&str; 0]);
        for hard in ["shape on the sander", "oak boards", "beech timber", "wooden feet"] {
            assert!(of(&[hard]).concat().contains("fine wood dust"), "{hard}");
        }
        for wet in ["slip cast", "slip trailing"] {
            assert!(of(&[wet]).concat().starts_with("Dust of clay"), "{wet}");
        }
    }

    /// Oil that dries warms a rag; wax, and oil that does not dry, leave it cold.
    #[test]
    fn oily_rags_are_those_of_oils_that_dry() {
        let warns = |names: &[&str]| of_names(names.iter().copied()).contains(&OILY_RAGS);
        for oil in [
            "oil",
            "sand and oil",
            "oil the top",
            "linseed oil",
            "Danish oil",
            "hardwax oil",
            "hardening oil",
            "flatten, sand, finish",
        ] {
            assert!(warns(&[oil]), "{oil}");
        }
        assert!(warns(&["plane the boards", "finish"]));
        for cold in [
            "waxed cotton",
            "sew the waxed cotton",
            "beeswax polish",
            "colour bands and wax",
            "oilcloth",
            "fragrance oil",
            "olive oil",
            "finish",
            "stained glass",
        ] {
            assert!(!warns(&[cold]), "{cold}");
        }
        assert!(!warns(&["cut out", "sew", "finish the seams"]));
    }

    /// Short, and it names whom to ask or what to do.
    #[test]
    fn cautions_are_short_whole_sentences() {
        for (words, caution) in WORK {
            assert!(!words.is_empty() && caution.ends_with('.'), "{caution}");
            assert!(caution.split_whitespace().count() <= 26, "{caution}");
        }
    }
}
