/* Runs a program on a disk that fails.
 *
 *   bad_disk LOG ROOT FAULT FROM TO PROGRAM [ARGUMENT...]
 *
 * Every operation of the program, of all its threads and children, that may change
 * something under the folder ROOT is counted from 1 and written into the file LOG, one
 * a line: number, name, path, and for a rename or link the second path, with tabs
 * between. With the fault "reads" those that only read are counted and fail as well.
 * Operations FROM to TO fail:
 *
 *   eio enospc eacces   with that error (a full disk still lets files go)
 *   reads               with EIO
 *   short               a write takes half of its bytes
 *   kill                the program is killed before the operation
 *   torn                a write takes half of its bytes, then the program is killed
 *
 * The kernel asks before each call (seccomp, user notification), so that also calls that
 * no library makes are seen, and one count holds for all threads. Ends as the program
 * does, or with 137 where it was killed. */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/wait.h>
#include <unistd.h>

#if defined(__x86_64__)
#define MACHINE AUDIT_ARCH_X86_64
#elif defined(__aarch64__)
#define MACHINE AUDIT_ARCH_AARCH64
#else
#error "the numbers of system calls of this machine are not known here"
#endif

/* Where an operation names what it works on. */
enum what {
  FD,      /* argument 0 is an open file */
  PATH,    /* argument 0 is a path */
  AT,      /* arguments 0 and 1: folder and path */
  PATHS,   /* arguments 0 and 1: two paths */
  ATS,     /* arguments 0 to 3: folder and path, twice */
  OPEN,    /* PATH, flags in argument 1 */
  OPENAT,  /* AT, flags in argument 2 */
  OPENAT2, /* AT, flags in the struct of argument 2 */
  COPY,    /* argument 2 is the open file that is written */
  LINK,    /* argument 2 is the path, argument 1 its folder */
};

/* What it does to the disk. */
enum kind { GROWS, WRITES, CHANGES, SYNCS, GOES, READS };

struct call {
  int number;
  const char *name;
  enum what what;
  enum kind kind;
};

static const struct call calls[] = {
    {__NR_openat, "open", OPENAT, GROWS},
    {__NR_openat2, "open", OPENAT2, GROWS},
    {__NR_write, "write", FD, WRITES},
    {__NR_writev, "write", FD, WRITES},
    {__NR_pwrite64, "write", FD, WRITES},
    {__NR_pwritev, "write", FD, WRITES},
    {__NR_pwritev2, "write", FD, WRITES},
    {__NR_copy_file_range, "write", COPY, WRITES},
    {__NR_sendfile, "write", FD, WRITES},
    {__NR_ftruncate, "truncate", FD, GROWS},
    {__NR_truncate, "truncate", PATH, GROWS},
    {__NR_fallocate, "allocate", FD, GROWS},
    {__NR_fsync, "sync", FD, SYNCS},
    {__NR_fdatasync, "sync", FD, SYNCS},
    {__NR_sync_file_range, "sync_range", FD, SYNCS},
    {__NR_syncfs, "sync_all", FD, SYNCS},
    {__NR_mkdirat, "mkdir", AT, GROWS},
    {__NR_renameat2, "rename", ATS, CHANGES},
    {__NR_linkat, "link", ATS, GROWS},
    {__NR_symlinkat, "symlink", LINK, GROWS},
    {__NR_mknodat, "mknod", AT, GROWS},
    {__NR_unlinkat, "unlink", AT, GOES},
    {__NR_fchmod, "chmod", FD, CHANGES},
    {__NR_fchmodat, "chmod", AT, CHANGES},
    {__NR_fchown, "chown", FD, CHANGES},
    {__NR_fchownat, "chown", AT, CHANGES},
    {__NR_utimensat, "times", AT, CHANGES},
#ifdef __NR_open
    {__NR_open, "open", OPEN, GROWS},
    {__NR_creat, "open", PATH, GROWS},
    {__NR_mkdir, "mkdir", PATH, GROWS},
    {__NR_rename, "rename", PATHS, CHANGES},
    {__NR_link, "link", PATHS, GROWS},
    {__NR_unlink, "unlink", PATH, GOES},
    {__NR_rmdir, "unlink", PATH, GOES},
    {__NR_chmod, "chmod", PATH, CHANGES},
    {__NR_chown, "chown", PATH, CHANGES},
#endif
#ifdef __NR_renameat
    {__NR_renameat, "rename", ATS, CHANGES},
#endif
    {__NR_read, "read", FD, READS},
    {__NR_readv, "read", FD, READS},
    {__NR_pread64, "read", FD, READS},
    {__NR_getdents64, "list", FD, READS},
    {__NR_statx, "look", AT, READS},
    {__NR_newfstatat, "look", AT, READS},
};
#define CALLS (sizeof calls / sizeof *calls)

static const char *root;
static FILE *log_file;

static void give_up(const char *what) {
  fprintf(stderr, "bad_disk: %s: %s\n", what, strerror(errno));
  exit(99);
}

/* In the child: the kernel shall ask about these calls. Gives what it asks through. */
static int ask(int reads) {
  struct sock_filter filter[CALLS * 2 + 8];
  size_t n = 0;
  filter[n++] = (struct sock_filter)BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, arch));
  filter[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, MACHINE, 1, 0);
  filter[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_KILL_PROCESS);
  filter[n++] = (struct sock_filter)BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr));
  for (size_t i = 0; i < CALLS; i++) {
    if (calls[i].kind == READS && !reads)
      continue;
    filter[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (uint32_t)calls[i].number, 0, 1);
    filter[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_USER_NOTIF);
  }
  filter[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
  struct sock_fprog program = {(unsigned short)n, filter};
  if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0)
    give_up("no_new_privs");
  int fd = (int)syscall(__NR_seccomp, SECCOMP_SET_MODE_FILTER, SECCOMP_FILTER_FLAG_NEW_LISTENER, &program);
  if (fd < 0)
    give_up("seccomp");
  return fd;
}

static void send_fd(int socket, int fd) {
  char byte = 0, space[CMSG_SPACE(sizeof fd)] = {0};
  struct iovec data = {&byte, 1};
  struct msghdr message = {.msg_iov = &data, .msg_iovlen = 1, .msg_control = space, .msg_controllen = sizeof space};
  struct cmsghdr *head = CMSG_FIRSTHDR(&message);
  head->cmsg_level = SOL_SOCKET;
  head->cmsg_type = SCM_RIGHTS;
  head->cmsg_len = CMSG_LEN(sizeof fd);
  memcpy(CMSG_DATA(head), &fd, sizeof fd);
  if (sendmsg(socket, &message, 0) < 0)
    give_up("sendmsg");
}

static int receive_fd(int socket) {
  int fd = -1;
  char byte, space[CMSG_SPACE(sizeof fd)];
  struct iovec data = {&byte, 1};
  struct msghdr message = {.msg_iov = &data, .msg_iovlen = 1, .msg_control = space, .msg_controllen = sizeof space};
  if (recvmsg(socket, &message, MSG_CMSG_CLOEXEC) <= 0 || CMSG_FIRSTHDR(&message) == NULL)
    give_up("the program did not start");
  memcpy(&fd, CMSG_DATA(CMSG_FIRSTHDR(&message)), sizeof fd);
  return fd;
}

/* Reads the program's memory; gives how much of it there was. */
static size_t memory(pid_t pid, uint64_t from, void *to, size_t bytes) {
  struct iovec here = {to, bytes}, there = {(void *)(uintptr_t)from, bytes};
  ssize_t got = process_vm_readv(pid, &here, 1, &there, 1, 0);
  return got < 0 ? 0 : (size_t)got;
}

/* A text of the program, which may end just before memory that is not there. */
static void text(pid_t pid, uint64_t from, char *to, size_t most) {
  size_t got = 0;
  while (got + 1 < most) {
    size_t page = 4096 - (from + got) % 4096, want = most - 1 - got;
    size_t more = memory(pid, from + got, to + got, want < page ? want : page);
    if (more == 0)
      break;
    if (memchr(to + got, 0, more) != NULL)
      return;
    got += more;
  }
  to[got] = 0;
}

static void of_link(char *to, size_t most, const char *form, ...) {
  char link[64];
  va_list parts;
  va_start(parts, form);
  vsnprintf(link, sizeof link, form, parts);
  va_end(parts);
  ssize_t length = readlink(link, to, most - 1);
  to[length < 0 ? 0 : length] = 0;
}

static void of_fd(pid_t pid, int fd, char *to, size_t most) {
  if (fd == AT_FDCWD)
    of_link(to, most, "/proc/%d/cwd", pid);
  else
    of_link(to, most, "/proc/%d/fd/%d", pid, fd);
}

static void of_path(pid_t pid, int folder, uint64_t path, char *to, size_t most) {
  char name[4096] = "";
  if (path != 0)
    text(pid, path, name, sizeof name);
  if (name[0] == '/') {
    snprintf(to, most, "%s", name);
    return;
  }
  of_fd(pid, folder, to, most);
  if (name[0] != 0) {
    size_t length = strlen(to);
    snprintf(to + length, most - length, "/%s", name);
  }
}

/* The part of a path under the root; NULL where it is none. */
static const char *under(const char *path) {
  size_t length = strlen(root);
  if (strncmp(path, root, length) != 0 || (path[length] != '/' && path[length] != 0))
    return NULL;
  return path[length] == 0 ? "." : path + length + 1;
}

/* Writes half of what a write would, through the program's own open file. Gives the
 * bytes, or a negative error. */
static long half(const struct seccomp_notif *asked, pid_t program) {
  const struct seccomp_data *data = &asked->data;
  struct iovec first = {(void *)(uintptr_t)data->args[1], data->args[2]};
  int listed = data->nr == __NR_writev || data->nr == __NR_pwritev || data->nr == __NR_pwritev2;
  if (listed && memory((pid_t)asked->pid, data->args[1], &first, sizeof first) != sizeof first)
    return -EFAULT;
  size_t bytes = first.iov_len / 2;
  if (bytes == 0 || data->nr == __NR_copy_file_range || data->nr == __NR_sendfile)
    return -ENOSPC;
  int process = (int)syscall(__NR_pidfd_open, program, 0);
  int file = (int)syscall(__NR_pidfd_getfd, process, (int)data->args[0], 0);
  char *copy = malloc(bytes);
  long done = -EIO;
  if (file >= 0 && copy != NULL && memory((pid_t)asked->pid, (uint64_t)(uintptr_t)first.iov_base, copy, bytes) == bytes) {
    int placed = data->nr != __NR_write && data->nr != __NR_writev;
    done = placed ? pwrite(file, copy, bytes, (off_t)data->args[3]) : write(file, copy, bytes);
    if (done < 0)
      done = -errno;
  }
  free(copy);
  close(file);
  close(process);
  return done;
}

static int flags_of(const struct seccomp_notif *asked, enum what what) {
  if (what == OPEN)
    return (int)asked->data.args[1];
  if (what == OPENAT)
    return (int)asked->data.args[2];
  uint64_t flags = 0;
  memory((pid_t)asked->pid, asked->data.args[2], &flags, sizeof flags);
  return (int)flags;
}

int main(int count, char **words) {
  if (count < 7) {
    fprintf(stderr, "bad_disk: LOG ROOT FAULT FROM TO PROGRAM [ARGUMENT...]\n");
    return 99;
  }
  root = words[2];
  const char *fault = words[3];
  long from = atol(words[4]), to = atol(words[5]), number = 0;
  int reads = strcmp(fault, "reads") == 0, killing = strcmp(fault, "kill") == 0, torn = strcmp(fault, "torn") == 0;
  int full = strcmp(fault, "enospc") == 0, shorter = strcmp(fault, "short") == 0, killed = 0;
  int error = full ? ENOSPC : strcmp(fault, "eacces") == 0 ? EACCES : EIO;
  log_file = fopen(words[1], "we");
  if (log_file == NULL)
    give_up(words[1]);
  int pair[2];
  if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0)
    give_up("socketpair");
  pid_t child = fork();
  if (child < 0)
    give_up("fork");
  if (child == 0) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    int fd = ask(reads);
    send_fd(pair[1], fd);
    close(fd);
    execv(words[6], words + 6);
    give_up(words[6]);
  }
  close(pair[1]);
  int listener = receive_fd(pair[0]);
  alarm(120);
  for (;;) {
    struct pollfd waiting = {listener, POLLIN, 0};
    if (poll(&waiting, 1, -1) < 0 || !(waiting.revents & POLLIN))
      break;
    struct seccomp_notif asked = {0};
    if (ioctl(listener, SECCOMP_IOCTL_NOTIF_RECV, &asked) != 0)
      continue; /* whoever asked is gone */
    struct seccomp_notif_resp answer = {.id = asked.id, .flags = SECCOMP_USER_NOTIF_FLAG_CONTINUE};
    const struct call *call = calls;
    while (call < calls + CALLS - 1 && call->number != asked.data.nr)
      call++;
    pid_t pid = (pid_t)asked.pid;
    const __u64 *arg = asked.data.args;
    char first[8192] = "", second[8192] = "";
    enum kind kind = call->kind;
    switch (call->what) {
    case FD: of_fd(pid, (int)arg[0], first, sizeof first); break;
    case COPY: of_fd(pid, (int)arg[2], first, sizeof first); break;
    case PATH: case OPEN: of_path(pid, AT_FDCWD, arg[0], first, sizeof first); break;
    case AT: case OPENAT: case OPENAT2: of_path(pid, (int)arg[0], arg[1], first, sizeof first); break;
    case LINK: of_path(pid, (int)arg[1], arg[2], first, sizeof first); break;
    case PATHS:
      of_path(pid, AT_FDCWD, arg[0], first, sizeof first);
      of_path(pid, AT_FDCWD, arg[1], second, sizeof second);
      break;
    case ATS:
      of_path(pid, (int)arg[0], arg[1], first, sizeof first);
      of_path(pid, (int)arg[2], arg[3], second, sizeof second);
      break;
    }
    const char *shown = under(first), *other = under(second), *name = call->name;
    if (call->what == OPEN || call->what == OPENAT || call->what == OPENAT2) {
      int flags = flags_of(&asked, call->what);
      if ((flags & (O_WRONLY | O_RDWR | O_CREAT | O_TRUNC)) == 0) {
        kind = READS;
        name = "look";
      } else {
        struct stat there;
        /* A full disk lets a file be opened that is there. */
        if (lstat(first, &there) == 0)
          kind = CHANGES;
        else if (flags & O_CREAT)
          name = "create";
      }
    }
    struct stat folder;
    if (strcmp(name, "mkdir") == 0 && lstat(first, &folder) == 0)
      name = "mkdir_there"; /* it changes nothing, and fails in any case */
    if ((shown != NULL || other != NULL) && (kind != READS || reads)) {
      number++;
      fprintf(log_file, "%ld\t%s\t%s", number, name, shown != NULL ? shown : first);
      if (second[0] != 0)
        fprintf(log_file, "\t%s", other != NULL ? other : second);
      fputc('\n', log_file);
      fflush(log_file);
      if (number >= from && number <= to) {
        long done = -error;
        int fails = kind == READS || !reads;
        if (full && from != to && kind != GROWS && kind != WRITES)
          fails = 0;
        if (shorter || torn || (full && from != to && number == from)) {
          fails = fails && kind == WRITES;
          if (fails)
            done = half(&asked, child);
        }
        if (fails && (killing || torn)) {
          killed = 1;
          kill(child, SIGKILL);
          break;
        }
        if (fails) {
          answer.flags = 0;
          answer.error = done < 0 ? (int)done : 0;
          answer.val = done < 0 ? 0 : done;
        }
      }
    }
    ioctl(listener, SECCOMP_IOCTL_NOTIF_SEND, &answer);
  }
  int status = 0;
  if (waitpid(child, &status, 0) < 0)
    give_up("waitpid");
  fclose(log_file);
  if (WIFSIGNALED(status) || killed)
    return 128 + (WIFSIGNALED(status) ? WTERMSIG(status) : SIGKILL);
  return WEXITSTATUS(status);
}
