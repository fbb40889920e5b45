import * as avr from 'avr8js';
import { OneWireThermometer, romCode } from './one-wire.ts';

/** What the chip's pins feel. Shares are of the supply, 0 to 1; null pulls an analog input to ground (unplugged). */
export interface ChipInputs {
  pressureShare: number | null;
  turbidityShare: number | null;
  conductivityShare: number | null;
  /** Pulses a second of the flow meter. */
  flowHz: number;
  supplyC: number | null;
  returnC: number | null;
  buttonDown: boolean;
}

export interface ChipOptions {
  /** Numbers from which the ROM codes of the two thermometers are made. */
  readonly serials?: readonly [number, number];
  /** Noise of the converter at each conversion, in its own steps. */
  readonly converterNoise?: () => number;
}

const clockHz = 16_000_000;
const cyclesPerUs = clockHz / 1e6;
/** Static memory of the chip, and what it is filled with at power-up. */
const memoryFrom = 0x0100;
const memoryTo = 0x0900;
const paint = 0xc5;

/** Intel HEX -> program memory of an ATmega328P (32 kB). Throws on a line whose checksum is wrong. */
export function loadHex(text: string): Uint16Array {
  const bytes = new Uint8Array(32768);
  for (const line of text.split(/\r?\n/)) {
    if (!line.startsWith(':')) continue;
    const record = Uint8Array.from({ length: (line.length - 1) / 2 }, (_, i) =>
      Number.parseInt(line.slice(1 + 2 * i, 3 + 2 * i), 16),
    );
    const sum = record.reduce((a, b) => (a + b) & 0xff, 0);
    if (sum !== 0) throw new Error(`The firmware's hex file is damaged: wrong checksum in "${line}". Build it again.`);
    const [count = 0, high = 0, low = 0, type = 0] = record;
    if (type === 0) bytes.set(record.subarray(4, 4 + count), high * 256 + low);
  }
  return new Uint16Array(bytes.buffer);
}

/** An ATmega328P at 16 MHz that runs the very firmware, its pins driven by numbers. Time is the chip's own, in cycles. */
export class AvrChip {
  readonly inputs: ChipInputs;
  /** Every byte that the chip sends. */
  onByte: (byte: number) => void = () => {};
  /** The status light, as last set. */
  light = false;
  readonly eeprom = new avr.EEPROMMemoryBackend(1024);
  readonly #program: Uint16Array;
  #cpu!: avr.CPU;
  #portD!: avr.AVRIOPort;
  #usart!: avr.AVRUSART;
  #thermometers: OneWireThermometer[] = [];
  #toChip: number[] = [];
  #nextPulseCycle = 0;
  #cyclesBefore = 0;
  readonly #options: Required<ChipOptions>;

  constructor(program: Uint16Array, inputs: ChipInputs, options: ChipOptions = {}) {
    this.#program = program;
    this.inputs = inputs;
    this.#options = { serials: [0x16831e, 0x16832f], converterNoise: () => 0, ...options };
    this.#powerUp();
  }

  /** Seconds that the chip has lived through, resets included. */
  get timeS(): number {
    return (this.#cyclesBefore + this.#cpu.cycles) / clockHz;
  }

  /** Bytes of stack used at most since power-up: memory is painted then, and the paint that is left is looked for. */
  deepestStack(): number {
    const data = this.#cpu.data;
    let bare = 0;
    for (let at = memoryTo - 1; at >= memoryFrom; at--) {
      bare = data[at] === paint ? bare + 1 : 0;
      if (bare === 32) return memoryTo - at - bare;
    }
    return memoryTo - memoryFrom;
  }

  /** Power cut and return: memory is lost, EEPROM is not. */
  reset(): void {
    this.#cyclesBefore += this.#cpu.cycles;
    this.#powerUp();
  }

  receive(bytes: Uint8Array): void {
    for (const byte of bytes) this.#toChip.push(byte);
  }

  #powerUp(): void {
    const cpu = new avr.CPU(this.#program);
    cpu.data.fill(paint, memoryFrom, memoryTo);
    this.#cpu = cpu;
    const portB = new avr.AVRIOPort(cpu, avr.portBConfig);
    const portD = new avr.AVRIOPort(cpu, avr.portDConfig);
    this.#portD = portD;
    new avr.AVRTimer(cpu, avr.timer0Config);
    new avr.AVRTimer(cpu, avr.timer1Config);
    new avr.AVREEPROM(cpu, this.eeprom);
    const clock = new avr.AVRClock(cpu, clockHz, avr.clockConfig);
    new avr.AVRWatchdog(cpu, avr.watchdogConfig, clock);
    this.#usart = new avr.AVRUSART(cpu, avr.usart0Config, clockHz);
    this.#usart.onByteTransmit = (byte) => this.onByte(byte);
    this.#analog(cpu);
    portB.addListener(() => {
      this.light = portB.pinState(5) === avr.PinState.High;
    });
    portD.setPin(2, true);
    portD.setPin(3, true);
    this.#oneWire(cpu, portD);
    this.#nextPulseCycle = 0;
  }

  #analog(cpu: avr.CPU): void {
    const adc = new avr.AVRADC(cpu, avr.adcConfig);
    adc.onADCRead = (input) => {
      const channel = input.type === avr.ADCMuxInputType.SingleEnded ? input.channel : -1;
      const { pressureShare, turbidityShare, conductivityShare } = this.inputs;
      const share = [pressureShare, turbidityShare, conductivityShare][channel] ?? 0;
      const code = Math.max(0, Math.min(1023, Math.floor(share * 1024 + this.#options.converterNoise())));
      cpu.addClockEvent(() => adc.completeADCRead(code), adc.sampleCycles);
    };
  }

  #oneWire(cpu: avr.CPU, portD: avr.AVRIOPort): void {
    const line = (pin: number, serial: number): OneWireThermometer => {
      portD.setPin(pin, true);
      const host = {
        nowUs: () => cpu.cycles / cyclesPerUs,
        after: (us: number, fn: () => void) => void cpu.addClockEvent(fn, Math.round(us * cyclesPerUs)),
        setLine: (high: boolean) => portD.setPin(pin, high),
      };
      const thermometer = new OneWireThermometer(host, romCode(serial), null);
      portD.addListener(() => thermometer.master(portD.pinState(pin) === avr.PinState.Low));
      return thermometer;
    };
    this.#thermometers = [line(4, this.#options.serials[0]), line(5, this.#options.serials[1])];
  }

  /** Let the chip live for `seconds` of its own time. */
  run(seconds: number): void {
    const cpu = this.#cpu;
    const [supply, back] = this.#thermometers;
    if (supply) supply.celsius = this.inputs.supplyC;
    if (back) back.celsius = this.inputs.returnC;
    this.#portD.setPin(3, !this.inputs.buttonDown);
    const end = cpu.cycles + Math.round(seconds * clockHz);
    let look = 0;
    while (cpu.cycles < end) {
      avr.avrInstruction(cpu);
      cpu.tick();
      if (cpu.cycles >= look) {
        look = cpu.cycles + 400;
        this.#pulse();
        this.#feed();
      }
    }
  }

  #pulse(): void {
    const { flowHz } = this.inputs;
    if (flowHz <= 0) {
      this.#nextPulseCycle = 0;
      return;
    }
    const cpu = this.#cpu;
    const period = clockHz / flowHz;
    if (this.#nextPulseCycle === 0) this.#nextPulseCycle = cpu.cycles + period;
    if (cpu.cycles < this.#nextPulseCycle) return;
    this.#nextPulseCycle += period;
    if (this.#nextPulseCycle < cpu.cycles) this.#nextPulseCycle = cpu.cycles + period;
    this.#portD.setPin(2, false);
    cpu.addClockEvent(() => this.#portD.setPin(2, true), Math.min(8000, Math.floor(period / 2)));
  }

  #feed(): void {
    if (this.#toChip.length === 0 || this.#usart.rxBusy || !this.#usart.rxEnable) return;
    const byte = this.#toChip.shift();
    if (byte !== undefined) this.#usart.writeByte(byte);
  }
}
