//! A disk that fails when it is told to: a shim between SQLite and the file system (its VFS interface is published
//! with SQLite). Every write, sync, cut, deletion and growth of a file is a point that can fail, or at which this
//! process is killed, a write then being half done. Each thread has its own plan, so other tests are not touched.

use rusqlite::ffi::{
    self, SQLITE_OK, sqlite3_file, sqlite3_filename, sqlite3_int64, sqlite3_io_methods, sqlite3_vfs,
};
use std::cell::Cell;
use std::ffi::{c_char, c_int, c_void};
use std::path::Path;
use std::sync::OnceLock;

/// What happens at the points of this thread, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plan {
    Works,
    /// The disk is full from this point on.
    FullFrom(u64),
    /// This one point fails, and the next works again.
    FailsAt(u64),
    /// This process is killed in the middle of this point.
    KilledAt(u64),
}

thread_local! {
    static PLAN: Cell<Plan> = const { Cell::new(Plan::Works) };
    static COUNT: Cell<u64> = const { Cell::new(0) };
}

/// Begins to count anew, by this plan.
pub fn plan(plan: Plan) {
    install();
    COUNT.set(0);
    PLAN.set(plan);
}

/// Lets everything work again, and says how many points there were.
pub fn works_again() -> u64 {
    PLAN.set(Plan::Works);
    COUNT.get()
}

/// What is to be done at the next point.
fn point() -> bool {
    let count = COUNT.get() + 1;
    COUNT.set(count);
    match PLAN.get() {
        Plan::Works => false,
        Plan::FullFrom(from) => count >= from,
        Plan::FailsAt(at) => count == at,
        Plan::KilledAt(at) => {
            if count == at {
                die();
            }
            false
        }
    }
}

fn die() -> ! {
    // SAFETY: ends this process at once; nothing runs after it.
    unsafe { libc::kill(libc::getpid(), libc::SIGKILL) };
    unreachable!("SIGKILL can't be refused")
}

/// A file of ours: SQLite sees this, and the real one lies behind it in the same memory.
#[repr(C)]
struct Shim {
    base: sqlite3_file,
    _aligned: u64,
}

static REAL: OnceLock<usize> = OnceLock::new();

fn real_vfs() -> *mut sqlite3_vfs {
    *REAL.get().expect("installed") as *mut sqlite3_vfs
}

fn install() {
    REAL.get_or_init(|| {
        // SAFETY: the default file system of SQLite lives as long as the process, and so does our copy of it, which is
        // leaked. A copy of the structure is what SQLite's documentation of shims asks for.
        unsafe {
            let real = ffi::sqlite3_vfs_find(std::ptr::null());
            let mut ours = Box::new(*real);
            ours.zName = c"faulty".as_ptr();
            ours.szOsFile = (*real).szOsFile + size_of::<Shim>() as c_int;
            ours.pNext = std::ptr::null_mut();
            ours.xOpen = Some(open);
            ours.xDelete = Some(delete);
            // Only after our own functions can find the real ones.
            let place = real as usize;
            let ours: *mut sqlite3_vfs = Box::leak(ours);
            READY.get_or_init(|| ours as usize);
            place
        }
    });
    // SAFETY: as above; registering the same one again changes nothing.
    unsafe {
        let ours = *READY.get().expect("made above") as *mut sqlite3_vfs;
        assert_eq!(ffi::sqlite3_vfs_register(ours, 1), SQLITE_OK);
    }
}

static READY: OnceLock<usize> = OnceLock::new();

unsafe extern "C" fn open(
    _: *mut sqlite3_vfs,
    name: sqlite3_filename,
    file: *mut sqlite3_file,
    flags: c_int,
    out: *mut c_int,
) -> c_int {
    // SAFETY: SQLite hands over as many bytes as `szOsFile` asked for: ours, and the real file's behind them.
    unsafe {
        (*file).pMethods = std::ptr::null();
        if flags & ffi::SQLITE_OPEN_CREATE != 0 && point() {
            return ffi::SQLITE_CANTOPEN;
        }
        let vfs = real_vfs();
        let came = (*vfs).xOpen.expect("it opens")(vfs, name, real(file), flags, out);
        if !(*real(file)).pMethods.is_null() {
            (*file).pMethods = &METHODS;
        }
        came
    }
}

unsafe extern "C" fn delete(_: *mut sqlite3_vfs, name: *const c_char, sync: c_int) -> c_int {
    if point() {
        return ffi::SQLITE_IOERR_DELETE;
    }
    let vfs = real_vfs();
    // SAFETY: passed on as it came.
    unsafe { (*vfs).xDelete.expect("it deletes")(vfs, name, sync) }
}

unsafe fn real(file: *mut sqlite3_file) -> *mut sqlite3_file {
    // SAFETY: see `open`.
    unsafe { file.cast::<u8>().add(size_of::<Shim>()).cast() }
}

macro_rules! forwards {
    ($($name:ident = $method:ident($($argument:ident: $type:ty),*) $(or $code:expr)?;)+) => {
        $(unsafe extern "C" fn $name(file: *mut sqlite3_file $(, $argument: $type)*) -> c_int {
            $(if point() { return $code; })?
            // SAFETY: passed on as it came, to the real file behind ours.
            unsafe { (*(*real(file)).pMethods).$method.expect("it is there")(real(file) $(, $argument)*) }
        })+
    };
}

forwards! {
    close = xClose();
    read = xRead(to: *mut c_void, count: c_int, at: sqlite3_int64);
    truncate = xTruncate(size: sqlite3_int64) or ffi::SQLITE_IOERR_TRUNCATE;
    sync = xSync(flags: c_int) or ffi::SQLITE_IOERR_FSYNC;
    file_size = xFileSize(size: *mut sqlite3_int64);
    lock = xLock(level: c_int);
    unlock = xUnlock(level: c_int);
    check_reserved = xCheckReservedLock(out: *mut c_int);
    control = xFileControl(what: c_int, argument: *mut c_void);
    sector = xSectorSize();
    traits = xDeviceCharacteristics();
    shm_lock = xShmLock(offset: c_int, count: c_int, flags: c_int);
    shm_unmap = xShmUnmap(delete: c_int);
}

unsafe extern "C" fn write(
    file: *mut sqlite3_file,
    from: *const c_void,
    count: c_int,
    at: sqlite3_int64,
) -> c_int {
    // SAFETY: passed on as it came; half of what came is less than all of it.
    unsafe {
        let write = (*(*real(file)).pMethods).xWrite.expect("it writes");
        if PLAN.get() == Plan::KilledAt(COUNT.get() + 1) {
            write(real(file), from, count / 2, at);
        }
        if point() { ffi::SQLITE_FULL } else { write(real(file), from, count, at) }
    }
}

unsafe extern "C" fn shm_map(
    file: *mut sqlite3_file,
    page: c_int,
    size: c_int,
    extend: c_int,
    out: *mut *mut c_void,
) -> c_int {
    if extend != 0 && point() {
        return ffi::SQLITE_IOERR_SHMSIZE;
    }
    // SAFETY: passed on as it came.
    unsafe { (*(*real(file)).pMethods).xShmMap.expect("it maps")(real(file), page, size, extend, out) }
}

unsafe extern "C" fn shm_barrier(file: *mut sqlite3_file) {
    // SAFETY: passed on as it came.
    unsafe { (*(*real(file)).pMethods).xShmBarrier.expect("it is there")(real(file)) }
}

static METHODS: sqlite3_io_methods = sqlite3_io_methods {
    // Without memory-mapped reading, which no write passes through.
    iVersion: 2,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(truncate),
    xSync: Some(sync),
    xFileSize: Some(file_size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(check_reserved),
    xFileControl: Some(control),
    xSectorSize: Some(sector),
    xDeviceCharacteristics: Some(traits),
    xShmMap: Some(shm_map),
    xShmLock: Some(shm_lock),
    xShmBarrier: Some(shm_barrier),
    xShmUnmap: Some(shm_unmap),
    xFetch: None,
    xUnfetch: None,
};

/// A folder in memory, where the system has one: what is tested here ends with the program, not with the power, and a
/// sync costs nothing there.
pub fn folder() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap()
}

/// SQLite's own check of the whole file, by a connection of its own, and the chain; how many entries there are.
pub fn intact(path: &Path) -> u64 {
    let stranger = rusqlite::Connection::open(path).unwrap();
    let said: Vec<String> = stranger
        .prepare("PRAGMA integrity_check")
        .and_then(|mut check| check.query_map([], |row| row.get(0))?.collect())
        .unwrap();
    assert_eq!(said, ["ok"], "{}", path.display());
    drop(stranger);
    let store = boxcall::store::Store::open_read_only(path).unwrap();
    store.verify(&mut |_| {}).unwrap().entries
}
