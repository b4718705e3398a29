//! What a page is made of: the frame around it, its style and scripts, its foot on paper, and what it says where something is refused.

pub mod assets;
mod escape;
pub mod frame;
pub mod paper;
pub mod policy;
pub mod refused;

pub use escape::Visible;
