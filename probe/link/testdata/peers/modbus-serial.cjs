// A peer on the npm package modbus-serial: a server with 60 holding registers,
// each 977 times its address, or a client that reads them and prints them.
//
//   node modbus-serial.cjs server|client tcp|telnet|rtu PORT|DEVICE
const modbus = require(process.env.LEGWORK_PEERS + '/node_modules/modbus-serial');
const [how, over, where] = process.argv.slice(2);

const vector = {
  getHoldingRegister: (address) => (977 * address) & 0xffff,
  getInputRegister: (address) => (977 * address) & 0xffff,
  readDeviceIdentification: () => ({ 0x00: 'Tidewater', 0x01: 'K3', 0x02: '1.0' }),
};

async function client() {
  const c = new modbus();
  c.setTimeout(2000);
  if (over === 'tcp') await c.connectTCP('127.0.0.1', { port: Number(where) });
  if (over === 'telnet') await c.connectTelnet('127.0.0.1', { port: Number(where) });
  if (over === 'rtu') await c.connectRTUBuffered(where, { baudRate: 19200, parity: 'even' });
  c.setID(1);
  const r = await c.readHoldingRegisters(0, 60);
  for (const x of r.data) console.log(x);
  await c.readHoldingRegisters(4000, 2).catch((e) => console.log('refused', e.modbusCode));
  if (over === 'tcp') console.log('is', (await c.readDeviceIdentification(1, 0)).data[1]);
  c.close(() => process.exit(0));
}

if (how === 'server') {
  const s = over === 'tcp'
    ? new modbus.ServerTCP(vector, { host: '127.0.0.1', port: Number(where), unitID: 1 })
    : new modbus.ServerSerial(vector, { path: where, baudRate: 19200, parity: 'even', unitID: 1, openOptions: {} });
  s.on('initialized', () => console.log('ready'));
  s.on('socketError', (e) => { console.error(e); process.exit(1); });
} else {
  client().catch((e) => { console.error(e); process.exit(1); });
}
