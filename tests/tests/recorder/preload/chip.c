/* A GPIO chip made of files, for tests on machines without one: preloaded into the
 * recorder, it answers the ioctls of <linux/gpio.h> (version 1) for /dev/null.
 * In the folder JUMPSEAT_TEST_CHIP, line 5 is the file "5" (holding 0 or 1), and
 * its edges come from the named pipe "5.edges", sixteen bytes each. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <linux/gpio.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MOST 1024
static int level_file[MOST]; /* by descriptor: where its level is, plus one */
static char inverted[MOST];

static int open_line(unsigned offset, const char *ending, int flags) {
  char path[512];
  snprintf(path, sizeof path, "%s/%u%s", getenv("JUMPSEAT_TEST_CHIP"), offset, ending);
  return open(path, flags | O_CLOEXEC);
}

static int keep(int handle, int level, unsigned flags) {
  if (handle < 0 || handle >= MOST || level < 0) { errno = ENODEV; return -1; }
  level_file[handle] = level + 1;
  inverted[handle] = (flags & GPIOHANDLE_REQUEST_ACTIVE_LOW) != 0;
  return 0;
}

int ioctl(int handle, unsigned long request, ...) {
  va_list rest;
  va_start(rest, request);
  void *data = va_arg(rest, void *);
  va_end(rest);
  if (!getenv("JUMPSEAT_TEST_CHIP") || ((request >> 8) & 0xff) != 0xb4) {
    int (*system_ioctl)(int, unsigned long, void *) = dlsym(RTLD_NEXT, "ioctl");
    return system_ioctl(handle, request, data);
  }
  switch ((unsigned)request) {
  case GPIO_GET_CHIPINFO_IOCTL:
    memset(data, 0, sizeof(struct gpiochip_info));
    ((struct gpiochip_info *)data)->lines = 32;
    return 0;
  case GPIO_GET_LINEINFO_IOCTL: {
    struct gpioline_info *line = data;
    unsigned offset = line->line_offset;
    memset(line, 0, sizeof *line);
    line->line_offset = offset;
    return 0;
  }
  case GPIO_GET_LINEHANDLE_IOCTL: {
    struct gpiohandle_request *wanted = data;
    int level = open_line(wanted->lineoffsets[0], "", O_RDWR);
    wanted->fd = level;
    return keep(wanted->fd, level, wanted->flags);
  }
  case GPIO_GET_LINEEVENT_IOCTL: {
    struct gpioevent_request *wanted = data;
    wanted->fd = open_line(wanted->lineoffset, ".edges", O_RDWR);
    return keep(wanted->fd, open_line(wanted->lineoffset, "", O_RDWR), wanted->handleflags);
  }
  case GPIOHANDLE_GET_LINE_VALUES_IOCTL: {
    char level = '0';
    if (pread(level_file[handle] - 1, &level, 1, 0) != 1) { errno = EIO; return -1; }
    ((struct gpiohandle_data *)data)->values[0] = (level == '1') != inverted[handle];
    return 0;
  }
  case GPIOHANDLE_SET_LINE_VALUES_IOCTL: {
    char level = ((struct gpiohandle_data *)data)->values[0] != inverted[handle] ? '1' : '0';
    return pwrite(level_file[handle] - 1, &level, 1, 0) == 1 ? 0 : -1;
  }
  }
  errno = ENOTTY;
  return -1;
}
