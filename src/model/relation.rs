//! What a check needs of the action in relation to the state.

/// What a check needs of the action. What an action is to the state is decided elsewhere; a check
/// only says what it can work with.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Relation {
    /// Nothing: it looks at the clock or the state.
    #[default]
    Nothing,
    /// An action of any kind: it looks at the action by itself.
    Action,
    /// A path of positions, new in every frame: it looks at the course of the action.
    Path,
    /// A path of positions, which may rest or jump by design.
    Steps,
    /// An action that says where the state should go, as a target, an increment or a velocity.
    Motion,
    /// Absolute targets in the space of the state, new in each frame or held for some.
    Target,
}
