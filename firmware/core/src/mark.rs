//! The mark button: one press, one mark. Nothing else hangs on it, so that no
//! fumbling on the road can stop or erase anything.

use crate::debounce::Edge;

/// Turns settled edges of the button into marks.
#[derive(Debug, Clone, Default)]
pub struct MarkButton {
    marks: u32,
}

impl MarkButton {
    /// A button that has not been pressed yet.
    pub const fn new() -> Self {
        Self { marks: 0 }
    }

    /// The time of the mark that this edge makes: a press does, a release does not.
    pub const fn edge(&mut self, edge: Edge) -> Option<u64> {
        if !edge.active {
            return None;
        }
        self.marks = self.marks.saturating_add(1);
        Some(edge.at_ns)
    }

    /// Marks made so far.
    pub const fn marks(&self) -> u32 {
        self.marks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_press_marks_and_a_release_does_not() {
        let mut button = MarkButton::new();
        let press = Edge {
            active: true,
            at_ns: 7,
        };
        let release = Edge {
            active: false,
            at_ns: 9,
        };
        assert_eq!(button.edge(press), Some(7));
        assert_eq!(button.edge(release), None);
        assert_eq!(button.edge(press), Some(7));
        assert_eq!(button.marks(), 2);
    }
}
