/**
 * THE list of measured channels. Wire, decode, recording, chart and docs read names, units and limits from here;
 * a new sensor is one row.
 *
 * SenML units: IANA SenML registry (RFC 8428 section 12.1); `l/s` is registered, `m3/s` is preferred for new producers,
 * so both are accepted. Ranges are physical plausibility, not the sensor's own range (that comes with `hello`):
 * a value outside is absurd on any heating circuit and is refused at the boundary.
 */
export type ChannelName =
  | 'turbidity'
  | 'turbidity-out'
  | 'flow'
  | 'pressure'
  | 't-supply'
  | 't-return'
  | 'conductivity';

export type SampleKey =
  | 'turbidityNtu'
  | 'turbidityOutNtu'
  | 'flowLpm'
  | 'pressureBar'
  | 'supplyC'
  | 'returnC'
  | 'conductivityUsCm';

export interface Channel {
  /** Name on the wire, after the kit URN and `_`. */
  readonly name: ChannelName;
  /** Field of a `Sample`. */
  readonly key: SampleKey;
  /** Column of recording.csv. */
  readonly column: string;
  /** Plain words for people. */
  readonly title: string;
  /** Our unit, as printed. */
  readonly unit: string;
  /** Accepted SenML units, each with the factor that turns it into our unit. */
  readonly senmlUnits: Readonly<Record<string, number>>;
  /** Plausible range in our unit, inclusive; outside is refused as absurd. */
  readonly min: number;
  readonly max: number;
  /** Readings are rounded to this many decimals of our unit at the boundary: finer than any sensor, and exact in CSV. */
  readonly decimals: number;
}

export const channels: readonly Channel[] = [
  {
    name: 'turbidity',
    key: 'turbidityNtu',
    column: 'turbidity_ntu',
    title: 'Turbidity, return',
    unit: 'NTU',
    senmlUnits: { NTU: 1 },
    min: -20,
    max: 20000,
    decimals: 4,
  },
  {
    name: 'flow',
    key: 'flowLpm',
    column: 'flow_lpm',
    title: 'Flow',
    unit: 'l/min',
    senmlUnits: { 'l/s': 60, 'm3/s': 60000 },
    min: 0,
    max: 400,
    decimals: 4,
  },
  {
    name: 'pressure',
    key: 'pressureBar',
    column: 'pressure_bar',
    title: 'Pressure',
    unit: 'bar',
    senmlUnits: { Pa: 1e-5 },
    min: -1,
    max: 20,
    decimals: 5,
  },
  {
    name: 't-return',
    key: 'returnC',
    column: 'temperature_c',
    title: 'Temperature, return',
    unit: '°C',
    senmlUnits: { Cel: 1 },
    min: -30,
    max: 130,
    decimals: 4,
  },
  {
    name: 'conductivity',
    key: 'conductivityUsCm',
    column: 'conductivity_us_cm',
    title: 'Conductivity',
    unit: 'µS/cm',
    senmlUnits: { 'S/m': 10000 },
    min: 0,
    max: 100000,
    decimals: 3,
  },
  {
    name: 't-supply',
    key: 'supplyC',
    column: 'supply_c',
    title: 'Temperature, supply',
    unit: '°C',
    senmlUnits: { Cel: 1 },
    min: -30,
    max: 130,
    decimals: 4,
  },
  {
    name: 'turbidity-out',
    key: 'turbidityOutNtu',
    column: 'turbidity_out_ntu',
    title: 'Turbidity after the chambers',
    unit: 'NTU',
    senmlUnits: { NTU: 1 },
    min: -20,
    max: 20000,
    decimals: 4,
  },
];

const byName = new Map<string, Channel>(channels.map((c) => [c.name, c]));

export function channelByName(name: string): Channel | undefined {
  return byName.get(name);
}
