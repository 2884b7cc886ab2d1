// An RP2040 with what the emulator lacks for the pedal: a flash that is erased and written to, a boot ROM of our
// own, a UART that loses what nobody takes, and a computer at the other end of USB.
import { createRequire } from 'module';
import path from 'path';
import { BootRom } from './boot_rom.js';
import { Flash, SIZE } from './flash.js';
import { SerialInterface } from './serial_interface.js';
import { BYTE, Uart } from './uart.js';
import { UsbHost } from './usb_host.js';

const modules = process.env.EVENHAND_CHIP_MODULES ?? '.';
const { Simulator, GPIOPinState } = createRequire(path.resolve(modules, 'index.js'))('rp2040js');

const MAPPED = 0x10000000;
const MAPPED_END = 0x14000000;
const UART0 = 20;
/** Behind the place that the chip's boot ROM copies second-stage boot code to. */
const STACK = 0x20041f00;
/** An exception is entered in so many cycles (Cortex-M0+ technical reference manual, 3.6). */
const ENTRY = 15;
/** Interrupts that are off for less are not told of, in nanoseconds. */
const SHORT = 20_000;
/** The lamps' pins, left to right, and the sounder's slice of the PWM. */
const LAMPS = [16, 17, 18];
const SOUNDER = 2;

/** Registers that keep what is written to them. */
class Registers {
  constructor(values = {}) {
    this.values = new Map(Object.entries(values).map(([at, value]) => [Number(at), value]));
  }
  readUint32(offset) {
    return this.values.get(offset & 0xfff) ?? 0;
  }
  writeUint32(offset, value) {
    this.values.set(offset & 0xfff, value >>> 0);
  }
  writeUint32Atomic(offset, value, kind) {
    const old = this.readUint32(offset);
    this.writeUint32(offset, [value, old ^ value, old | value, old & ~value][kind]);
  }
}

export class Chip {
  /** `cells`: what is in the flash. `page`, `sector`: its times in microseconds. `pressed`: pins of switches
   *  that are down when the power comes. `scratch`: what the watchdog's registers hold after a restart. */
  constructor({ cells, page, sector, number, megahertz = 125, pressed = [], scratch = null, reason = 0 }) {
    const { rp2040: mcu, clock } = new Simulator();
    Object.assign(this, { mcu, clock });
    mcu.logger = { debug() {}, info() {}, warn() {}, error: (name, text) => this.complain(`${name}: ${text}`) };
    this.cycle = 1000 / megahertz;
    this.idle = 0;
    this.events = [];
    this.stopped = null;
    this.stamp = 0;
    this.off = null;
    this.low = null;
    this.longestOff = 0;
    this.rom = new BootRom(this);
    mcu.loadBootrom(this.rom.image());
    this.cells = mcu.flash.subarray(0, SIZE);
    this.cells.set(cells);
    this.flash = new Flash(this.cells, { page, sector, number });
    this.serial = new SerialInterface(this.flash, (on) => this.mapped(on));
    this.uart = new Uart(this, UART0);
    Object.assign(mcu.peripherals, {
      0x14000: new Registers({ 0: 3, 8: 6 }),
      0x18000: this.serial,
      0x40018: new Registers(),
      0x40034: this.uart,
      0x40060: new Registers({ 0: 0xaa0, 0x18: 0x80001000 }),
      0x40064: new Registers({ 0: 0x10b1 }),
    });
    this.host = new UsbHost(this);
    this.watch();
    const watchdog = mcu.peripherals[0x40058];
    if (scratch) watchdog.scratchData.set(scratch);
    watchdog.reason = reason;
    watchdog.onWatchdogTrigger = () => { this.stopped = 'watchdog'; };
    for (const pin of [14, 15]) mcu.gpio[pin].setInputValue(!pressed.includes(pin));
    mcu.gpio[1].setInputValue(true);
    // As the boot ROM leaves it: second-stage boot code is where it goes on, with a stack behind it.
    mcu.core.SP = STACK;
    mcu.core.PC = MAPPED;
    mcu.core.LR = 0;
  }

  get micros() {
    return this.clock.nanosCounter / 1000;
  }

  tell(event) {
    this.events.push({ at: this.micros, ...event });
  }

  complain(text) {
    this.tell({ kind: 'wrong', text });
  }

  halt() {
    this.stopped = 'astray';
  }

  /** Lamps, the sounder, and the time that a stamp is taken from. */
  watch() {
    const { mcu } = this;
    const lamps = LAMPS.map(() => false);
    LAMPS.forEach((pin, lamp) => mcu.gpio[pin].addListener((state) => {
      lamps[lamp] = state === GPIOPinState.High;
      this.tell({ kind: 'lamps', lit: [...lamps] });
    }));
    const { pwm } = mcu;
    const write = pwm.writeUint32.bind(pwm);
    let sounds = false;
    pwm.writeUint32 = (offset, value) => {
      write(offset, value);
      if ((offset & 0xfff) === SOUNDER * 0x14 + 0xc && sounds !== Boolean(value & 0xffff)) {
        sounds = !sounds;
        this.tell({ kind: 'sounder', on: sounds });
      }
    };
    const timer = mcu.peripherals[0x40054];
    const read = timer.readUint32.bind(timer);
    timer.readUint32 = (offset) => {
      const value = read(offset);
      if ((offset & 0xfff) === 0x28) {
        if (mcu.core.IPSR === 16 + UART0) this.stamp = Math.floor(this.micros);
        // Waiting is looking at the clock again and again; so it costs the rig little.
        else if (mcu.core.IPSR === 0 && this.idle) this.clock.tick(this.idle * 1000);
      }
      return value;
    };
  }

  /** Whether flash can be read at its addresses. While it cannot, nobody may try. */
  mapped(on) {
    const { mcu } = this;
    if (on) {
      for (const name of ['readUint8', 'readUint16', 'readUint32']) delete mcu[name];
      return;
    }
    for (const name of ['readUint8', 'readUint16', 'readUint32']) {
      const read = Object.getPrototypeOf(mcu)[name];
      mcu[name] = (address) => {
        const at = address >>> 0;
        if (at >= MAPPED && at < MAPPED_END) {
          this.complain(`flash is read at ${at.toString(16)} while that is impossible, by ${mcu.core.PC.toString(16)}`);
          this.halt();
        }
        return read.call(mcu, address);
      };
    }
  }

  begun(step) {
    this.tell({ kind: 'flash', what: step.what, address: step.at, micros: step.micros });
    this.flash.operations += 1;
    if (this.flash.operations === this.flash.cutAt) {
      this.after(step.micros * 500, () => { step.act(false); this.stopped = 'cut'; });
    }
  }

  done(step) {
    step.act(true);
  }

  usbBoot() {
    this.stopped = 'usb-boot';
  }

  /** Time goes on until then, or until something happens. */
  wait(until) {
    const { clock } = this;
    const next = clock.nextAlarm ? clock.nextAlarm.nanos : until;
    clock.tick(Math.max(this.cycle, Math.min(next, until, clock.nanosCounter + 1e6) - clock.nanosCounter));
  }

  after(nanos, act) {
    this.clock.createAlarm(act).schedule(nanos);
  }

  at(micros, act) {
    this.after(Math.max(0, micros * 1000 - this.clock.nanosCounter), act);
  }

  /** Bytes on the MIDI line, the first one beginning then, or as soon as the line is free. */
  midi(micros, bytes) {
    this.line = Math.max(this.line ?? 0, micros);
    for (const byte of bytes) {
      this.line += BYTE / 1000;
      this.at(this.line, () => this.uart.receive(byte));
    }
  }

  foot(pin, from, to) {
    this.at(from, () => this.mcu.gpio[pin].setInputValue(false));
    this.at(to, () => this.mcu.gpio[pin].setInputValue(true));
  }

  /** A processor that has met what it cannot do. */
  fault() {
    this.mcu.core.exceptionEntry(3);
  }

  run(micros) {
    const { clock, mcu: { core } } = this;
    const end = micros * 1000;
    while (clock.nanosCounter < end && !this.stopped) {
      const at = core.PC & ~1;
      if (at < 0x4000) this.rom.visit(at);
      if (this.stopped) break;
      if (core.waiting) {
        this.wait(end);
        continue;
      }
      const handler = core.IPSR;
      const cycles = core.executeInstruction();
      clock.tick((cycles + (core.IPSR > handler ? ENTRY : 0)) * this.cycle);
      if (core.PM) this.off ??= clock.nanosCounter;
      else if (this.off !== null) this.on();
    }
  }

  /** Interrupts are on again. */
  on() {
    const nanos = this.clock.nanosCounter - this.off;
    this.off = null;
    this.longestOff = Math.max(this.longestOff, nanos);
    if (nanos > SHORT) this.tell({ kind: 'interrupts off', micros: nanos / 1000 });
  }
}
