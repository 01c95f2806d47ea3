//! The reports of a plan, against their schema, against one another, and redone from their own figures.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod all_forms;
mod html;
mod show_work;
