// Told line by line in JSON what happens to a pedal, it answers each with a line of JSON.
import fs from 'fs';
import readline from 'readline';
import { Chip } from './chip.js';
import { SIZE } from './flash.js';
import { FRAMING } from './uart.js';

let chip = null;
let settings = null;

/** The image as a board in its boot mode takes it (the UF2 format: blocks of 512 bytes). */
function load(cells, file) {
  const bytes = fs.readFileSync(file);
  for (let at = 0; at + 512 <= bytes.length; at += 512) {
    if (bytes.readUInt32LE(at) !== 0x0a324655) throw new Error(`${file} is no UF2 file`);
    const to = bytes.readUInt32LE(at + 12) - 0x10000000;
    cells.set(bytes.subarray(at + 32, at + 32 + bytes.readUInt32LE(at + 16)), to);
  }
}

const commands = {
  power({ uf2, flash, ...others }) {
    settings = others;
    const cells = flash ? fs.readFileSync(flash) : Buffer.alloc(SIZE, 0xff);
    if (uf2) load(cells, uf2);
    chip = new Chip({ ...settings, cells });
    return {};
  },
  /** The processor begins anew, as after its watchdog; what it keeps over that stays. */
  restart() {
    const { scratchData, reason } = chip.mcu.peripherals[0x40058];
    const { cells } = chip;
    chip = new Chip({ ...settings, cells, scratch: scratchData, reason });
    return {};
  },
  midi({ at, bytes }) { chip.midi(at, bytes); return { line: chip.line }; },
  /** A byte that the line's speed does not hold up. */
  raw({ at, byte, broken }) { chip.at(at, () => chip.uart.receive(byte, broken ? FRAMING : 0)); return {}; },
  foot({ pin, from, to }) { chip.foot(pin, from, to); return {}; },
  usb({ bytes }) { chip.host.send(bytes); return {}; },
  cut({ operation }) { chip.flash.cutAt = chip.flash.operations + operation; return {}; },
  fault() { chip.fault(); return {}; },
  run({ until, idle = 20 }) {
    chip.idle = idle;
    chip.run(until);
    const { events } = chip;
    chip.events = [];
    return { at: chip.micros, stopped: chip.stopped, events };
  },
  figures() {
    const { uart, host, longestOff } = chip;
    return { ...uart.counts, baud: uart.baud, ready: host.ready, serial: host.serial, longest_off: longestOff / 1000 };
  },
  keep({ file }) { fs.writeFileSync(file, chip.cells); return {}; },
};

for await (const line of readline.createInterface({ input: process.stdin })) {
  let answer;
  try {
    const { do: what, ...rest } = JSON.parse(line);
    answer = commands[what](rest);
  } catch (error) {
    answer = { error: error.stack };
  }
  process.stdout.write(`${JSON.stringify(answer)}\n`);
}
