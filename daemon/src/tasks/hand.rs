//! Handing the end-of-day report to the program the owner chose.
//!
//! The program is begun once for each report, after the journal says that it was written, and
//! is not begun again when the daemon ends meanwhile. No shell stands between; it gets the two
//! paths as its last arguments, no input, and little of the daemon's environment. It may do
//! whatever the daemon's user may. What it prints goes to the log.

use std::process::Stdio;
use std::sync::Arc;
use std::time::Duration;

use lockring_domain::shop::setting::EveningCommand;
use tokio::io::{AsyncRead, AsyncReadExt as _};
use tokio::process::Command;

use super::evening::Written;
use crate::service::Daemon;

/// How long the program may take.
const LIMIT: Duration = Duration::from_secs(60);
/// The most of its output that goes to the log, bytes.
const LOGGED: usize = 4096;
/// What it sees of the daemon's environment.
const ENVIRONMENT: [&str; 5] = ["PATH", "HOME", "LANG", "TZ", "XDG_RUNTIME_DIR"];

/// Hands a report over, if the shop says to whom. What becomes of it is logged: a program that
/// fails must not keep the next day's report from being written.
///
/// # Errors
/// What the store says.
pub(super) async fn hand_over(daemon: &Arc<Daemon>, written: &Written) -> Result<(), String> {
    let reading = daemon.clone();
    let shop = tokio::task::spawn_blocking(move || reading.store.read(|reader| reader.shop()))
        .await
        .map_err(|error| error.to_string())?
        .map_err(|error| error.to_string())?;
    if let Some(command) = shop.evening_command() {
        match run(&command, written, LIMIT).await {
            Ok(output) => tracing::info!(day = %written.day, output, "evening command done"),
            Err(why) => tracing::error!(day = %written.day, "evening command: {why}"),
        }
    }
    Ok(())
}

/// Runs the program to its end, or ends it at the limit; gives what it printed.
pub(super) async fn run(
    command: &EveningCommand,
    written: &Written,
    limit: Duration,
) -> Result<String, String> {
    let (program, given) = command.argv.split_first().ok_or("it names no program")?;
    let mut child = Command::new(program)
        .args(given)
        .arg(&written.text)
        .arg(&written.json)
        .env_clear()
        .envs(
            ENVIRONMENT
                .iter()
                .filter_map(|name| Some((name, std::env::var_os(name)?))),
        )
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .kill_on_drop(true)
        .spawn()
        .map_err(|error| format!("{program} cannot be begun: {error}"))?;
    let (output, errors) = (child.stdout.take(), child.stderr.take());
    let ends = async { tokio::try_join!(child.wait(), beginning(output), beginning(errors)) };
    let (status, mut said, errors) = tokio::time::timeout(limit, ends)
        .await
        .map_err(|_| {
            format!(
                "{program} took longer than {} s and was ended",
                limit.as_secs_f32()
            )
        })?
        .map_err(|error| format!("{program}: {error}"))?;
    said.extend(errors);
    said.truncate(LOGGED);
    let said = String::from_utf8_lossy(&said).trim().to_owned();
    if status.success() {
        Ok(said)
    } else {
        Err(format!("{program} ended with {status}: {said}"))
    }
}

/// The first of what a program prints; the rest is read away, so that it may go on.
async fn beginning(pipe: Option<impl AsyncRead + Unpin>) -> std::io::Result<Vec<u8>> {
    let mut first = Vec::new();
    if let Some(mut pipe) = pipe {
        (&mut pipe).take(LOGGED as u64).read_to_end(&mut first).await?;
        tokio::io::copy(&mut pipe, &mut tokio::io::sink()).await?;
    }
    Ok(first)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn written() -> Written {
        Written {
            day: date(2026, 3, 25),
            text: "/r/2026-03-25.txt".into(),
            json: "/r/2026-03-25.json".into(),
        }
    }

    async fn ran(argv: &[&str], limit: Duration) -> Result<String, String> {
        let argv = argv.iter().map(|word| (*word).to_owned()).collect();
        run(&EveningCommand { argv }, &written(), limit).await
    }

    #[tokio::test]
    async fn the_program_gets_both_paths_and_no_shell_reads_them() {
        let said = ran(&["/bin/echo", "$HOME;", "-2"], LIMIT).await.unwrap();
        assert_eq!(said, "$HOME; -2 /r/2026-03-25.txt /r/2026-03-25.json");
    }

    #[tokio::test]
    async fn a_program_that_fails_is_missing_or_takes_too_long_says_so() {
        let failed = ran(&["/bin/ls", "/no/such/file"], LIMIT).await.unwrap_err();
        assert!(
            failed.contains("exit status") && failed.contains("/no/such/file"),
            "{failed}"
        );
        let missing = ran(&["/no/such/program"], LIMIT).await.unwrap_err();
        assert!(missing.contains("cannot be begun"), "{missing}");
        // More than a pipe holds and than is logged: it ends all the same.
        let talker = "i=0; while [ $i -lt 3000 ]; do echo 0123456789012345678901234567890123456789; i=$((i+1)); done; echo end >&2";
        let said = ran(&["/bin/sh", "-c", talker], LIMIT).await.unwrap();
        assert!(said.starts_with("0123") && said.len() <= LOGGED, "{}", said.len());
        let script = "while :; do :; done";
        let slow = ran(&["/bin/sh", "-c", script], Duration::from_millis(50))
            .await
            .unwrap_err();
        assert!(slow.contains("was ended"), "{slow}");
    }
}
