/* A card that cannot be synced while the file JUMPSEAT_TEST_BROKEN is there. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

static int broken(void) {
  const char *file = getenv("JUMPSEAT_TEST_BROKEN");
  if (file == NULL || access(file, F_OK) != 0)
    return 0;
  errno = EIO;
  return 1;
}

int fsync(int file) {
  int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, "fsync");
  return broken() ? -1 : real(file);
}

int fdatasync(int file) {
  int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, "fdatasync");
  return broken() ? -1 : real(file);
}
