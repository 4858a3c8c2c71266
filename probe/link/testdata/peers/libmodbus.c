/* A peer on libmodbus: a server with 60 holding registers, each 977 times its
 * address, or a client that reads them and prints them.
 *
 *   peer server tcp PORT | server rtu DEVICE | client tcp PORT | client rtu DEVICE
 */
#include <errno.h>
#include <modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { REGISTERS = 60 };

static modbus_t *make(const char *how, const char *where) {
  modbus_t *m = strcmp(how, "tcp") == 0 ? modbus_new_tcp("127.0.0.1", atoi(where))
                                        : modbus_new_rtu(where, 19200, 'E', 8, 1);
  if (m == NULL || modbus_set_slave(m, 1) != 0) {
    fprintf(stderr, "%s\n", modbus_strerror(errno));
    exit(1);
  }
  return m;
}

static int serve(modbus_t *m, int tcp) {
  uint8_t query[MODBUS_TCP_MAX_ADU_LENGTH];
  modbus_mapping_t *map = modbus_mapping_new(0, 0, REGISTERS, REGISTERS);
  int listener = -1;
  for (int i = 0; i < REGISTERS; i++) {
    map->tab_registers[i] = map->tab_input_registers[i] = (uint16_t)(977 * i);
  }
  if (tcp) {
    listener = modbus_tcp_listen(m, 1);
  } else if (modbus_connect(m) != 0) {
    return 1;
  }
  puts("ready");
  fflush(stdout);
  for (;;) {
    if (tcp && modbus_tcp_accept(m, &listener) < 0) return 1;
    for (;;) {
      int n = modbus_receive(m, query);
      if (n < 0) break;
      if (n > 0) modbus_reply(m, query, n, map);
    }
    if (!tcp) return 0;
  }
}

static int ask(modbus_t *m) {
  uint16_t got[REGISTERS];
  if (modbus_connect(m) != 0 || modbus_read_registers(m, 0, REGISTERS, got) != REGISTERS) {
    fprintf(stderr, "%s\n", modbus_strerror(errno));
    return 1;
  }
  for (int i = 0; i < REGISTERS; i++) printf("%u\n", got[i]);
  if (modbus_read_registers(m, 4000, 2, got) == -1) printf("refused %d\n", errno - MODBUS_ENOBASE);
  return 0;
}

int main(int argc, char **argv) {
  if (argc != 4) return 2;
  modbus_t *m = make(argv[2], argv[3]);
  return strcmp(argv[1], "server") == 0 ? serve(m, strcmp(argv[2], "tcp") == 0) : ask(m);
}
