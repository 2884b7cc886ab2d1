// A boot ROM of our own: the table of functions that programs look up in (RP2040 datasheet, 2.8.3), each a
// loop on itself that the rig leaves when the work is done. Nothing of the chip's own ROM is in here.

const ENTRIES_FROM = 0x200;
const LOOP = 0xe7fe; // b .
const RETURN = 0x4770; // bx lr

/** Zeros before the first one from the left. */
const leading = (value) => Math.clz32(value);
const trailing = (value) => (value ? 31 - Math.clz32(value & -value) : 32);

function reversed(value) {
  let out = 0;
  for (let bit = 0; bit < 32; bit++) out = (out << 1) | ((value >>> bit) & 1);
  return out >>> 0;
}

function ones(value) {
  let count = 0;
  for (let left = value >>> 0; left; left >>>= 1) count += left & 1;
  return count;
}

export class BootRom {
  constructor(chip) {
    this.chip = chip;
    this.functions = new Map();
    this.codes = new Map();
    this.working = null;
    const { mcu } = chip;
    const fill = (to, value, length) => {
      for (let i = 0; i < length; i++) mcu.writeUint8(to + i, value & 0xff);
      return to;
    };
    const copy = (to, from, length) => {
      for (let i = 0; i < length; i++) mcu.writeUint8(to + i, mcu.readUint8(from + i));
      return to;
    };
    // A cycle a byte: the real ones are a little quicker. Our default.
    const moving = (act) => (a, b, length) => ({ result: act(a, b, length), cycles: length });
    const functions = {
      lookup: (table, code) => ({ result: this.codes.get(code & 0xffff) ?? this.missing(code), cycles: 40 }),
      P3: (value) => ({ result: ones(value), cycles: 18 }),
      R3: (value) => ({ result: reversed(value), cycles: 18 }),
      L3: (value) => ({ result: leading(value), cycles: 18 }),
      T3: (value) => ({ result: trailing(value), cycles: 18 }),
      MS: moving(fill),
      S4: moving(fill),
      MC: moving(copy),
      C4: moving(copy),
      IF: () => ({ cycles: 60 }),
      EX: () => { chip.mapped(false); chip.serial.plain(); return { cycles: 2_000 }; },
      FC: () => ({ cycles: 60 }),
      CX: () => { chip.mapped(true); return { cycles: 200 }; },
      RE: (from, length) => ({ steps: chip.flash.erasing(from, length) }),
      RP: (from, data, length) => {
        const bytes = Uint8Array.from({ length }, (_, i) => mcu.readUint8(data + i));
        return { steps: chip.flash.writing(from, bytes) };
      },
      UB: () => { chip.usbBoot(); return { forever: true }; },
    };
    this.words = new Uint16Array(0x4000 / 2);
    let at = ENTRIES_FROM;
    for (const [name, act] of Object.entries(functions)) {
      this.words[at / 2] = LOOP;
      this.words[at / 2 + 1] = RETURN;
      this.functions.set(at, { name, act });
      if (name.length === 2) this.codes.set(name.charCodeAt(0) | (name.charCodeAt(1) << 8), at | 1);
      else this.lookup = at | 1;
      at += 4;
    }
    const half = (offset, value) => { this.words[offset / 2] = value; };
    half(0x10, 0x754d);
    half(0x12, 0x0201); // Version 2.
    half(0x14, 0x100);
    half(0x16, 0x180);
    half(0x18, this.lookup);
  }

  missing(code) {
    const name = String.fromCharCode(code & 0xff, (code >> 8) & 0xff);
    this.chip.complain(`the image asks the boot ROM for ${name}, which this rig does not have`);
    return 0;
  }

  image() {
    return new Uint32Array(this.words.buffer);
  }

  /** The processor is at this address of the ROM. Interrupts are taken while a function works. */
  visit(at) {
    const { chip, chip: { mcu: { core } } } = this;
    const entry = this.functions.get(at);
    if (!entry) {
      if (this.functions.has(at - 2)) return; // The way back.
      chip.complain(`the processor runs at ${at.toString(16)} in the boot ROM`);
      chip.halt();
      return;
    }
    const calls = this.working ??= new Map();
    let call = calls.get(at);
    if (!call) {
      const [r0, r1, r2, r3] = core.registers;
      call = entry.act(r0, r1, r2, r3);
      const cycles = call.cycles ?? 100;
      call.until = chip.clock.nanosCounter + cycles * chip.cycle;
      calls.set(at, call);
    }
    if (call.forever) { chip.wait(Infinity); return; }
    if (chip.clock.nanosCounter < call.until) { chip.wait(call.until); return; }
    if (call.step) { chip.done(call.step); call.step = null; }
    if (call.steps?.length) {
      call.step = call.steps.shift();
      call.until = chip.clock.nanosCounter + call.step.micros * 1000;
      chip.begun(call.step);
      chip.wait(call.until);
      return;
    }
    calls.delete(at);
    if (call.result !== undefined) core.registers[0] = call.result;
    core.PC = at + 2;
  }
}
