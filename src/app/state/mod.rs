//! What is selected, shown and being edited, what the views ask for, and what each of them reads in one frame.

mod actions;
pub(crate) mod beach_form;
pub(crate) mod bench;
pub(crate) mod bench_forms;
pub(crate) mod camera;
pub(crate) mod clock;
pub(crate) mod command;
pub(crate) mod dialog;
pub(crate) mod draft;
mod frame_context;
pub(crate) mod intake;
mod log;
pub(crate) mod lows;
pub(crate) mod next_low;
pub(crate) mod permission_form;
pub(crate) mod place_form;
mod plan;
pub(crate) mod plan_drawn;
pub(crate) mod read;
pub(crate) mod section;
mod selection;
pub(crate) mod share;
mod sheet_choice;
mod sun_said;
pub(crate) mod time;
mod window;
mod words;

pub use camera::Camera;
pub use clock::Clock;
pub use plan::PlanShape;
pub use selection::Selection;
pub use sheet_choice::SheetChoice;

pub(crate) use frame_context::FrameContext;
pub(crate) use log::PhotoView;
pub(crate) use plan::PlanView;
pub(crate) use window::State;
