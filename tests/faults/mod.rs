//! What happens when the daemon dies, the disk refuses, a client goes wrong, or somebody else
//! holds the folder.

mod crowd;
mod disk;
mod folder;
mod kill;
mod network;
mod soak;
mod upgrade;
