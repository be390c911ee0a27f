//! Which instance of ours the framework has just made: it makes the plugin itself, and shows it to
//! nobody.

use crate::plugin::instance::Instance;
use std::cell::Cell;
use std::sync::Arc;

thread_local! {
    /// The instance that is being made on this thread.
    static MADE: Cell<Option<Arc<Instance>>> = const { Cell::new(None) };
}

/// Keeps an instance that is being made, for whoever had it made.
pub fn keep(instance: &Arc<Instance>) {
    MADE.set(Some(Arc::clone(instance)));
}

/// Takes what was kept on this thread.
pub fn kept() -> Option<Arc<Instance>> {
    MADE.take()
}
