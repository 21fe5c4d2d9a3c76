/* Stands between a program and the system (LD_PRELOAD), counts the calls that change files, and makes the Nth of
 * them fail or kill the program. Calls on the three standard streams, and on what is no regular file, pass uncounted.
 * Not thread-safe beyond what one counter needs: the programs under test write from one thread. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

enum mode { COUNT, KILL_BEFORE, KILL_INSIDE, FAIL, SHORT };

static long counted, armed_at;
static int armed, mode, error_number, sticky, report_fd = -1;
static char kinds[100000];

/* From the `at`th call on `how` holds: once, or with `stay` for all later calls too. An answer goes to `report`. */
void failpoint_arm(long at, int how, int error, int stay, int report) {
    counted = 0;
    armed_at = at;
    mode = how;
    error_number = error;
    sticky = stay;
    report_fd = report;
    armed = 1;
}

void failpoint_disarm(void) { armed = 0; }
long failpoint_count(void) { return counted; }
/* What the calls counted were, one letter each: w(rite) p(write) f(sync) r(ename) u(nlink) t(runcate) o(pen) m(kdir). */
const char *failpoint_kinds(void) { return kinds; }

static int regular(int fd) {
    struct stat found;
    int before = errno;
    int answer = fd > 2 && fd != report_fd && fstat(fd, &found) == 0 && S_ISREG(found.st_mode);
    errno = before;
    return answer;
}

static void report(char kind, const char *what) {
    char line[64];
    int length = snprintf(line, sizeof line, "%c %s %ld\n", kind, what, counted);
    if (report_fd >= 0) syscall(SYS_write, report_fd, line, length);
}

static void die(char kind, const char *what) {
    report(kind, what);
    syscall(SYS_kill, syscall(SYS_getpid), SIGKILL);
}

/* Counts one call; whether this is one that something is to happen to. */
static int due(char kind) {
    if (!armed) return 0;
    counted++;
    if (counted < (long)sizeof kinds) { kinds[counted - 1] = kind; kinds[counted] = 0; }
    if (mode == COUNT || (counted != armed_at && !(sticky && counted > armed_at))) return 0;
    if (mode == KILL_BEFORE) die(kind, "before");
    if (mode == FAIL) { report(kind, "failed"); errno = error_number; }
    return 1;
}

#define REAL(name) ((__typeof__(&name))real(#name))
static void *real(const char *name) { return dlsym(RTLD_NEXT, name); }

ssize_t write(int fd, const void *buffer, size_t size) {
    if (regular(fd) && due('w')) {
        if (mode == FAIL) return -1;
        size_t half = size / 2;
        ssize_t written = half ? syscall(SYS_write, fd, buffer, half) : 0;
        if (mode == KILL_INSIDE) die('w', "inside");
        report('w', "short");
        return half ? written : syscall(SYS_write, fd, buffer, size);
    }
    return syscall(SYS_write, fd, buffer, size);
}

static ssize_t pwrite_either(int fd, const void *buffer, size_t size, off_t at) {
    if (regular(fd) && due('p')) {
        if (mode == FAIL) return -1;
        size_t half = size / 2;
        ssize_t written = half ? syscall(SYS_pwrite64, fd, buffer, half, at) : 0;
        if (mode == KILL_INSIDE) die('p', "inside");
        report('p', "short");
        return half ? written : syscall(SYS_pwrite64, fd, buffer, size, at);
    }
    return syscall(SYS_pwrite64, fd, buffer, size, at);
}
ssize_t pwrite(int fd, const void *buffer, size_t size, off_t at) { return pwrite_either(fd, buffer, size, at); }
ssize_t pwrite64(int fd, const void *buffer, size_t size, off_t at) { return pwrite_either(fd, buffer, size, at); }

/* A call without an inside: killed when it is done. */
#define WHOLE(kind, call)                                   \
    do {                                                    \
        int hit = due(kind);                                \
        if (hit && mode == FAIL) return -1;                 \
        int answer = (call);                                \
        if (hit && mode == KILL_INSIDE) die(kind, "after"); \
        return answer;                                      \
    } while (0)

int fsync(int fd) {
    if (!armed || fd < 3) return REAL(fsync)(fd);
    WHOLE('f', REAL(fsync)(fd));
}
int fdatasync(int fd) {
    if (!armed || fd < 3) return REAL(fdatasync)(fd);
    WHOLE('f', REAL(fdatasync)(fd));
}
int rename(const char *from, const char *to) { WHOLE('r', REAL(rename)(from, to)); }
int unlink(const char *path) { WHOLE('u', REAL(unlink)(path)); }
int mkdir(const char *path, mode_t rights) { WHOLE('m', REAL(mkdir)(path, rights)); }
int ftruncate(int fd, off_t size) { WHOLE('t', syscall(SYS_ftruncate, fd, size)); }
int ftruncate64(int fd, off_t size) { WHOLE('t', syscall(SYS_ftruncate, fd, size)); }

static int open_either(int folder, const char *path, int flags, mode_t rights) {
    if (!(flags & O_CREAT)) return syscall(SYS_openat, folder, path, flags, rights);
    WHOLE('o', syscall(SYS_openat, folder, path, flags, rights));
}

#define RIGHTS(flags)                           \
    mode_t rights = 0;                          \
    if ((flags) & (O_CREAT | O_TMPFILE)) {      \
        va_list more;                           \
        va_start(more, flags);                  \
        rights = va_arg(more, mode_t);          \
        va_end(more);                           \
    }
int open(const char *path, int flags, ...) { RIGHTS(flags) return open_either(AT_FDCWD, path, flags, rights); }
int open64(const char *path, int flags, ...) { RIGHTS(flags) return open_either(AT_FDCWD, path, flags, rights); }
int openat(int folder, const char *path, int flags, ...) { RIGHTS(flags) return open_either(folder, path, flags, rights); }
int openat64(int folder, const char *path, int flags, ...) { RIGHTS(flags) return open_either(folder, path, flags, rights); }
