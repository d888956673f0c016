/* A disk that goes wrong, put before the C library with LD_PRELOAD.
 *
 * What it does stands in the file that LOCKRING_DISK names, one line a rule, read anew when it
 * was replaced:
 *
 *     CALL FILE DEED NUMBER
 *
 *     CALL    read, write or sync
 *     FILE    data (lockring.db), log (lockring.db-wal), other (all the rest), or any
 *     DEED    fail   an I/O error, each time, or by chance once in NUMBER times
 *             short  a write of half its bytes, then an I/O error for the rest; NUMBER as above
 *             next   an I/O error for the next NUMBER times
 *             slow   takes NUMBER microseconds longer
 *             stick  takes until the rules are others
 *
 * A sync that fails is never passed on, and what was written before it never will be unless it is
 * written again: so does Linux, which marks such pages as clean.
 *
 * If LOCKRING_DISK_RECORD names a file, all that data file and log are told is appended to it, so
 * that a power cut can be played: a head of four numbers (deed, file, offset, length), each of 64
 * bits, and for a write its bytes.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <time.h>
#include <unistd.h>

enum file { OTHER, DATA, LOG };
enum record { WRITTEN = 1, CUT, SYNCED, SYNC_FAILED };

struct rule {
    char call[8], file[8], deed[8];
    long number;
};

static struct rule rules[8];
static int count;
static struct timespec read_at;
static ino_t read_from;
static uint64_t chance = 20260302;
static int record = -1;
static pthread_mutex_t one = PTHREAD_MUTEX_INITIALIZER;

/* The C library's own function behind ours. */
#define REAL(result, name, ...) \
    static result (*real_##name)(__VA_ARGS__); \
    if (!real_##name) real_##name = (result (*)(__VA_ARGS__))dlsym(RTLD_NEXT, #name)

__attribute__((constructor)) static void begin(void) {
    const char *path = getenv("LOCKRING_DISK_RECORD");
    if (path) record = open(path, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0600);
    chance += (uint64_t)getpid();
}

/* Reads the rules anew if their file was replaced. Called by one thread at a time. */
static void read_rules(void) {
    const char *path = getenv("LOCKRING_DISK");
    struct stat seen;
    if (!path || stat(path, &seen)) return;
    if (seen.st_ino == read_from && seen.st_mtim.tv_sec == read_at.tv_sec && seen.st_mtim.tv_nsec == read_at.tv_nsec)
        return;
    FILE *file = fopen(path, "re");
    if (!file) return;
    char line[128];
    for (count = 0; count < 8 && fgets(line, sizeof line, file);) {
        struct rule *rule = &rules[count];
        rule->number = 1;
        if (sscanf(line, "%7s %7s %7s %ld", rule->call, rule->file, rule->deed, &rule->number) >= 3) count++;
    }
    fclose(file);
    read_from = seen.st_ino;
    read_at = seen.st_mtim;
}

/* Which of the two files a descriptor is. */
static enum file file_of(int fd) {
    char link[32], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return OTHER;
    path[length] = 0;
    const char *name = strrchr(path, '/');
    if (name && !strcmp(name, "/lockring.db")) return DATA;
    return name && !strcmp(name, "/lockring.db-wal") ? LOG : OTHER;
}

static void wait_for(long microseconds) {
    struct timespec time = {microseconds / 1000000, microseconds % 1000000 * 1000};
    nanosleep(&time, NULL);
}

static int one_in(long number) {
    chance = chance * 6364136223846793005u + 1442695040888963407u;
    return number <= 1 || (chance >> 33) % (uint64_t)number == 0;
}

/* What is to become of a call: 0 for nothing, 'f'ail or 's'hort; waits where the rules say so. */
static int deed(const char *call, enum file file) {
    static const char *const names[] = {"other", "data", "log"};
    int what, sticks;
    long wait;
again:
    what = sticks = 0;
    wait = 0;
    pthread_mutex_lock(&one);
    read_rules();
    for (int i = 0; i < count; i++) {
        struct rule *rule = &rules[i];
        if (strcmp(rule->call, call) || (strcmp(rule->file, "any") && strcmp(rule->file, names[file]))) continue;
        if (!strcmp(rule->deed, "slow")) wait = rule->number;
        else if (!strcmp(rule->deed, "stick")) sticks = 1;
        else if (!strcmp(rule->deed, "next")) what = rule->number-- > 0 ? 'f' : what;
        else if (one_in(rule->number)) what = rule->deed[0];
    }
    pthread_mutex_unlock(&one);
    if (sticks) {
        wait_for(1000);
        goto again;
    }
    if (wait) wait_for(wait);
    return what;
}

/* Appends to the record, whole: one writer has each file, and the system keeps appends apart. */
static void keep(enum record what, enum file file, uint64_t offset, const void *bytes, uint64_t length) {
    if (record < 0 || file == OTHER) return;
    uint64_t head[4] = {what, file, offset, length};
    struct iovec parts[2] = {{head, sizeof head}, {(void *)bytes, bytes ? length : 0}};
    if (writev(record, parts, 2) < 0) abort();
}

ssize_t pread64(int fd, void *bytes, size_t length, off64_t offset) {
    REAL(ssize_t, pread64, int, void *, size_t, off64_t);
    if (deed("read", file_of(fd))) {
        errno = EIO;
        return -1;
    }
    return real_pread64(fd, bytes, length, offset);
}

ssize_t pwrite64(int fd, const void *bytes, size_t length, off64_t offset) {
    REAL(ssize_t, pwrite64, int, const void *, size_t, off64_t);
    static __thread int broke_off;
    enum file file = file_of(fd);
    int what = broke_off ? 'f' : deed("write", file);
    /* The half was written; who asks again for the rest is refused. */
    broke_off = what == 's' && length > 1;
    if (what == 'f' || (what == 's' && !broke_off)) {
        errno = EIO;
        return -1;
    }
    if (what == 's') length /= 2;
    keep(WRITTEN, file, (uint64_t)offset, bytes, length);
    return real_pwrite64(fd, bytes, length, offset);
}

int ftruncate64(int fd, off64_t length) {
    REAL(int, ftruncate64, int, off64_t);
    keep(CUT, file_of(fd), (uint64_t)length, NULL, 0);
    return real_ftruncate64(fd, length);
}

static int sync_with(int (*real)(int), int fd) {
    enum file file = file_of(fd);
    if (deed("sync", file)) {
        keep(SYNC_FAILED, file, 0, NULL, 0);
        errno = EIO;
        return -1;
    }
    int result = real(fd);
    keep(result ? SYNC_FAILED : SYNCED, file, 0, NULL, 0);
    return result;
}

int fsync(int fd) {
    REAL(int, fsync, int);
    return sync_with(real_fsync, fd);
}

int fdatasync(int fd) {
    REAL(int, fdatasync, int);
    return sync_with(real_fdatasync, fd);
}
