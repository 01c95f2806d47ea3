//! The cautions that go with every plan, once: reports, help and the README take them from here.

/// What a plan cannot know, and what hurts people on such trips; each a whole sentence.
///
/// Sources: filling on the ground, nozzle touching, never inside a vehicle: NIOSH/NHTSA and petroleum
/// industry warning; flammable at 1.4 to 7.6 % in air: WA mines department; room for expansion: ADR
/// 4.1.1.4; roof ratings count the rack and are for driving: trade guides. The rest is common practice.
pub const CAUTIONS: [&str; 8] = [
    "This plan is an estimate. It is no substitute for local rules, the vehicle maker's figures or \
     a licensed fitter.",
    "Water before fuel: carry it first, and for more days than the plan has. Stay with the vehicle.",
    "Petrol vapour explodes. Carry fuel only in containers approved for it, never inside the \
     passenger compartment, strapped down, away from heat and sparks.",
    "Fill cans on the ground, the nozzle touching the can, and not to the brim: fuel expands. Vent \
     a warm can slowly before opening it.",
    "Pour with the engine off and cooled, no flame near, on level ground.",
    "A loaded roof turns vehicles over. The roof rating is for driving and counts the rack.",
    "An overloaded vehicle does not stop. Gross mass and axle limits are law; weigh the vehicle as \
     it leaves.",
    "Limits on carried fuel differ from country to country: ask before you cross a border.",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_caution_is_a_sentence_of_plain_letters() {
        for caution in CAUTIONS {
            assert!(caution.is_ascii() && caution.ends_with('.') && !caution.contains("  "));
        }
    }
}
