//! Building for processors other than this machine's, and finding out with what.
//!
//! Two ways are looked for, in this order, and neither is pinned to a version:
//!
//! 1. the core library of the target lies ready in the compiler's own folder, as it does after
//!    somebody ran `rustup target add` by hand;
//! 2. a compiler with the library's source builds it along (`-Zbuild-std=core`, allowed by
//!    `RUSTC_BOOTSTRAP=1`): the one we run under, or Debian's `rustc-web`.
//!
//! In the second way there is no `alloc` at all. In the first there is, but no allocator: an
//! image that needs one does not link. So images, not only libraries, are built for every target.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::machine::{EMBEDDED, install_line};
use crate::process::{self, Stop, answer, on_path, run, say};
use crate::{elf, places};

/// Cortex-M0 and M0+, as in the cheapest boards; the core must not ask for more.
pub const SMALLEST: &str = "thumbv6m-none-eabi";
/// Cortex-M4 as in the emulated board. Without its floating point unit, which nothing of ours uses.
pub const EMULATED: &str = "thumbv7em-none-eabi";

/// Cortex-M33 as in the RP2350; only the pedal for its boards is built for it.
pub const RP2350: &str = "thumbv8m.main-none-eabihf";

/// The targets that the emulated board's images are built for.
pub const TARGETS: [&str; 2] = [SMALLEST, EMULATED];

/// The Debian packages of the second way.
pub const DEBIAN_PACKAGES: &[&str] = &["rustc-web", "cargo-web", "rust-web-src", "lld"];
/// The oldest compiler that knows what we write (`rust-version` in Cargo.toml).
const OLDEST_RUSTC: (u32, u32) = (1, 88);

/// What a compiler is to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// Make a program.
    Build,
    /// Say whether it could.
    Check,
}

/// A way to build for a target.
#[derive(Debug, PartialEq, Eq)]
pub struct Way {
    cargo: PathBuf,
    rustc: PathBuf,
    /// The core library is built from source along with the program.
    builds_core: bool,
    /// The linker, where it is not the one that comes with the compiler.
    linker: Option<PathBuf>,
}

/// A compiler that may serve.
struct Compiler {
    cargo: PathBuf,
    rustc: PathBuf,
    sysroot: PathBuf,
}

impl Compiler {
    fn ask(cargo: PathBuf, rustc: PathBuf) -> Option<Self> {
        let version = answer(Command::new(&rustc).arg("--version"))?;
        if version_of(&version)? < OLDEST_RUSTC {
            return None;
        }
        let sysroot = answer(Command::new(&rustc).args(["--print", "sysroot"]))?.into();
        Some(Self { cargo, rustc, sysroot })
    }

    /// The compiler we run under, then the system's.
    fn all() -> Vec<Self> {
        let variable = |name: &str, other: &str| {
            std::env::var_os(name).map_or_else(|| PathBuf::from(other), PathBuf::from)
        };
        let ours = Self::ask(variable("CARGO", "cargo"), variable("RUSTC", "rustc"));
        let system = Self::ask("/usr/bin/cargo".into(), "/usr/bin/rustc".into());
        ours.into_iter().chain(system).collect()
    }

    fn has_target(&self, target: &str) -> bool {
        self.sysroot.join("lib/rustlib").join(target).join("lib").is_dir()
    }

    fn has_source(&self) -> bool {
        self.sysroot.join("lib/rustlib/src/rust/library/core").is_dir() && self.cargo_is_there()
    }

    fn cargo_is_there(&self) -> bool {
        process::works(Command::new(&self.cargo).arg("--version"))
    }

    /// The linker in this compiler's own folder; rustc finds that one by itself.
    fn own_linker(&self) -> Option<PathBuf> {
        let hosts = std::fs::read_dir(self.sysroot.join("lib/rustlib")).ok()?;
        let names = ["rust-lld", "rust-lld.exe"];
        hosts
            .flatten()
            .flat_map(|host| names.map(|name| host.path().join("bin").join(name)))
            .find(|linker| linker.is_file())
    }
}

/// `rustc 1.96.0 (…)` as (1, 96).
fn version_of(line: &str) -> Option<(u32, u32)> {
    let mut parts = line.split_whitespace().nth(1)?.split('.');
    Some((parts.next()?.parse().ok()?, parts.next()?.parse().ok()?))
}

/// A linker for a compiler that has none of its own: LLVM's, or another compiler's.
fn linker_elsewhere(compilers: &[Compiler]) -> Option<PathBuf> {
    if let Some(linker) = on_path("ld.lld") {
        return Some(linker);
    }
    let llvm = std::fs::read_dir("/usr/lib").into_iter().flatten().flatten();
    llvm.filter(|folder| folder.file_name().to_string_lossy().starts_with("llvm-"))
        .map(|folder| folder.path().join("bin/ld.lld"))
        .find(|linker| linker.is_file())
        .or_else(|| compilers.iter().find_map(Compiler::own_linker))
}

/// Finds a way to build for `target`.
pub fn find(target: &str) -> Result<Way, Stop> {
    choose(&Compiler::all(), target)
}

fn choose(compilers: &[Compiler], target: &str) -> Result<Way, Stop> {
    let ready = compilers.iter().find(|compiler| compiler.has_target(target));
    let chosen = ready.or_else(|| compilers.iter().find(|compiler| compiler.has_source()));
    let missing = |what: String| Stop::Missing {
        what,
        how: format!("{}\nor {}", install_line(&[&EMBEDDED]), rustup_line()),
    };
    let Some(compiler) = chosen else {
        return Err(missing(format!("There is no core library for {target} on this machine.")));
    };
    let linker = match compiler.own_linker() {
        Some(_) => None,
        None => Some(
            linker_elsewhere(compilers)
                .ok_or_else(|| missing(format!("There is no linker for {target}.")))?,
        ),
    };
    Ok(Way {
        cargo: compiler.cargo.clone(),
        rustc: compiler.rustc.clone(),
        builds_core: ready.is_none(),
        linker,
    })
}

/// Whether there is a way for every target that we build for.
pub fn available() -> bool {
    TARGETS.into_iter().chain([RP2350]).all(|target| find(target).is_ok())
}

/// What somebody with rustup can run by hand instead. No program of ours runs it.
pub fn rustup_line() -> String {
    format!("rustup target add {SMALLEST} {EMULATED} {RP2350}")
}

impl Way {
    /// `cargo build --release` for `target` in `folder`, to which arguments can be added.
    pub fn build(&self, target: &str, folder: &Path) -> Command {
        self.run(Aim::Build, target, folder)
    }

    /// The same, or `cargo check`.
    pub fn run(&self, aim: Aim, target: &str, folder: &Path) -> Command {
        let aim = match aim {
            Aim::Build => "build",
            Aim::Check => "check",
        };
        let mut command = Command::new(&self.cargo);
        command.current_dir(folder).arg(aim).args(["--release", "--target", target]);
        command.arg("--target-dir").arg(self.target_folder());
        command.env("RUSTC", &self.rustc);
        // What the host's build was told must not reach this one.
        let hosts = ["RUSTFLAGS", "CARGO_ENCODED_RUSTFLAGS", "RUSTC_WRAPPER"];
        // Libraries of the compiler we run under, which a system's compiler must not load.
        let libraries = ["LD_LIBRARY_PATH", "DYLD_FALLBACK_LIBRARY_PATH"];
        for name in hosts.iter().chain(&libraries).chain(&["RUSTDOC", "CARGO"]) {
            command.env_remove(name);
        }
        if self.builds_core {
            command.arg("-Zbuild-std=core").env("RUSTC_BOOTSTRAP", "1");
        }
        if let Some(linker) = &self.linker {
            let name = target.to_uppercase().replace(['-', '.'], "_");
            command.env(format!("CARGO_TARGET_{name}_LINKER"), linker);
        }
        command
    }

    /// Each way has a folder, so that they do not rebuild each other's files.
    fn target_folder(&self) -> PathBuf {
        let name = if self.builds_core { "core-from-source" } else { "core-installed" };
        places::embedded_target().join(name)
    }

    /// For people: how it is done.
    pub fn describe(&self) -> String {
        let core = if self.builds_core { "core built from source" } else { "installed core" };
        format!("{} with {core}", self.rustc.display())
    }

    /// Where the image of a board stands after [`Way::build`].
    pub fn image(&self, target: &str, package: &str) -> PathBuf {
        self.target_folder().join(target).join("release").join(package)
    }
}

/// The package of the emulated board.
pub const BOARD: &str = "evenhand-mps2";

/// Builds the core alone for `target`, with nothing that the host could lend it. In the
/// firmware's workspace, so that both are built the same way and share what they have in common.
pub fn build_core(target: &str) -> Result<(), Stop> {
    let way = find(target)?;
    eprintln!("The core for {target}: {}", way.describe());
    let mut build = way.build(target, &places::firmware());
    run(&format!("the core for {target}"), build.args(["--package", "evenhand-core"]))
}

/// The image that counts what judging costs; [`build_measured`] builds it.
pub const COST: &str = "evenhand-mps2-cost";

/// The image of a judge in little RAM.
pub const SMALL: &str = "evenhand-mps2-small";

/// Images of two sessions, of one size and of two.
pub const SESSIONS: [&str; 2] = ["evenhand-mps2-one-size", "evenhand-mps2-two-sizes"];

/// The image of the whole emulated pedal.
pub const PEDAL: &str = "evenhand-mps2-pedal";

/// Builds the image of the emulated pedal for `target` and returns where it is.
pub fn build_image(target: &str) -> Result<PathBuf, Stop> {
    Ok(build_images(target, &[PEDAL])?.image(target, PEDAL))
}

/// Builds the images that are measured: what judging costs, and in how little room.
pub fn build_measured() -> Result<(), Stop> {
    build_images(SMALLEST, &[COST, SMALL, SESSIONS[0], SESSIONS[1]]).map(|_| ())
}

/// Each image takes a while to link, so only those that are named are built.
fn build_images(target: &str, images: &[&str]) -> Result<Way, Stop> {
    let way = find(target)?;
    eprintln!("The images of {BOARD} for {target}: {}", way.describe());
    let mut build = way.build(target, &places::firmware());
    build.args(["--package", BOARD]);
    build.args(images.iter().flat_map(|name| ["--bin", name]));
    run(&format!("{BOARD} for {target}"), &mut build)?;
    Ok(way)
}

/// Builds everything for every processor and board, and the core alone for the smallest.
pub fn build_all() -> Result<(), Stop> {
    build_core(SMALLEST)?;
    build_image(SMALLEST)?;
    build_measured()?;
    build_image(EMULATED)?;
    crate::pedal::build_and_check()
}

/// Where [`build_image`] puts the image of the pedal, whether or not it has been built.
pub fn image(target: &str) -> Result<PathBuf, Stop> {
    Ok(find(target)?.image(target, PEDAL))
}

/// Where [`build_image`] puts an image that is for the smallest processor only.
pub fn smallest_image(name: &str) -> Result<PathBuf, Stop> {
    Ok(find(SMALLEST)?.image(SMALLEST, name))
}

/// The image that counts.
pub fn cost_image() -> Result<PathBuf, Stop> {
    smallest_image(COST)
}

/// Builds the image for every target and says how large each is.
pub fn report_sizes() -> Result<(), Stop> {
    for target in TARGETS {
        let image = build_image(target)?;
        let bytes = std::fs::read(&image).map_err(Stop::file(&image))?;
        let size = elf::footprint(&bytes).map_err(|error| Stop::Failed {
            what: format!("{}: {error}", image.display()),
            code: 1,
        })?;
        say(&format!("{BOARD} for {target}: {size}"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_are_read_as_the_compiler_prints_them() {
        assert_eq!(
            version_of("rustc 1.96.0 (0123abcde 2026-01-01) (built from a source tarball)"),
            Some((1, 96))
        );
        assert_eq!(version_of("rustc 1.100.0-nightly (0123abcde 2026-01-01)"), Some((1, 100)));
        assert_eq!(version_of("cargo"), None);
    }

    #[test]
    fn without_a_compiler_both_ways_to_get_one_are_said() {
        let stop = choose(&[], SMALLEST).expect_err("nothing can build");
        assert_eq!(stop.code(), 3);
        let text = stop.to_string();
        for word in ["rustup target add", "rustc-web", SMALLEST] {
            assert!(text.contains(word), "{word} is not in: {text}");
        }
    }

    #[test]
    fn an_installed_core_is_taken_before_source() {
        let folder = std::env::temp_dir().join(format!("evenhand-way-{}", std::process::id()));
        let library = folder.join("lib/rustlib");
        std::fs::create_dir_all(library.join("this-host/bin")).unwrap();
        std::fs::create_dir_all(library.join(SMALLEST).join("lib")).unwrap();
        std::fs::write(library.join("this-host/bin/rust-lld"), "").unwrap();
        let cargo = PathBuf::from("cargo");
        let compiler =
            Compiler { cargo: cargo.clone(), rustc: "rustc".into(), sysroot: folder.clone() };
        let way = choose(&[compiler], SMALLEST).map(|way| (way.builds_core, way.linker));
        std::fs::remove_dir_all(&folder).unwrap();
        assert_eq!(way.expect("it is installed"), (false, None));
    }
}
