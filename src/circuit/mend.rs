//! What to do about a fault of a network.

use super::fault::CircuitFault;

impl CircuitFault {
    /// What to do about it, where that can be said.
    pub fn mend(&self) -> Option<String> {
        use CircuitFault as C;
        let text = match self {
            C::NoGround { ground } => {
                return Some(format!(
                    "connect a part to `{ground}`, or name as ground the node that the voltages count from"
                ));
            }
            C::DuplicateName { .. } => "give one of the two another name",
            C::BothEnds { .. } => "perhaps one of its nodes is misspelt; else take the part out",
            C::NamedOnce { .. } => {
                "perhaps the node is misspelt; else connect something to it, or take the part out"
            }
            C::ShortedSource { .. } | C::SourceLoop { .. } => {
                "put the resistance that is there in practice into the loop"
            }
            C::IdleLoop { .. } => {
                "put a resistance in series with one of them, so that the current divides"
            }
            C::FloatingNode { .. } | C::NoPathToGround { .. } => {
                "give it a path to ground, such as the leakage resistance that is there in practice"
            }
            C::CurrentCut { .. } => "put a resistance beside one of the sources",
            C::Undetermined { .. } => {
                "see what holds it: a large resistance to ground, or a feedback path at DC, may be missing"
            }
            C::NotSettled { .. } => "see whether the parts round that node have credible values",
            C::NoSuchElement { kind, .. } => {
                if kind.starts_with('z') {
                    "test current times dynamic resistance must stay below the zener voltage"
                } else {
                    "see forward voltage, test current and ideality"
                }
            }
            C::NothingToCompare { .. } => "give a source an AC amplitude",
            C::UnknownNode {
                nearest: Some(near),
                ..
            } => {
                return Some(format!("perhaps `{near}` is meant"));
            }
            C::UnknownElement {
                nearest: Some(near),
                ..
            } => {
                return Some(format!("perhaps {near} is meant"));
            }
            _ => return None,
        };
        Some(text.to_owned())
    }
}
