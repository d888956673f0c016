//! What happens when the daemon dies, the disk refuses, a client goes wrong, or somebody else
//! holds the folder.

mod clients;
mod crowd;
mod disk;
#[cfg(target_env = "gnu")]
mod failing;
mod folder;
mod kill;
mod network;
#[cfg(target_env = "gnu")]
mod power;
mod soak;
mod upgrade;
