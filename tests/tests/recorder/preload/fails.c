/* A card that cannot be synced while the file JUMPSEAT_TEST_BROKEN is there, and that
 * hangs in a sync while the file JUMPSEAT_TEST_HANGING is there. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

static int there(const char *name) {
  const char *file = getenv(name);
  return file != NULL && access(file, F_OK) == 0;
}

static void hang(void) {
  while (there("JUMPSEAT_TEST_HANGING"))
    usleep(5000);
}

static int broken(void) {
  if (!there("JUMPSEAT_TEST_BROKEN"))
    return 0;
  errno = EIO;
  return 1;
}

int fsync(int file) {
  int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, "fsync");
  hang();
  return broken() ? -1 : real(file);
}

int fdatasync(int file) {
  int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, "fdatasync");
  hang();
  return broken() ? -1 : real(file);
}
