//! A permission as it is typed.

use crate::book::{Permission, PermissionText};

/// A permission with its fields as they are typed.
pub(crate) struct PermissionForm {
    pub(crate) was: Permission,
    pub(crate) typed: PermissionText,
    pub(crate) refusal: Option<String>,
}

impl PermissionForm {
    /// Whether something was typed.
    pub(crate) fn is_changed(&self) -> bool {
        self.typed != PermissionText::of_permission(&self.was)
    }

    /// The form of a permission.
    pub(crate) fn of_permission(was: &Permission) -> Self {
        Self { typed: PermissionText::of_permission(was), was: was.clone(), refusal: None }
    }
}
