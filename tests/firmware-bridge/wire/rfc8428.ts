const lon = (t: number, v: number) => ({ u: 'lon', ...(t && { t }), v });
const lat = (t: number, v: number) => ({ u: 'lat', ...(t && { t }), v });

/** RFC 8428 section 5.1.3: several measurements of one device, as printed there. */
export const thirteenRecords = [
  { bn: 'urn:dev:ow:10e2073a01080063', bt: 1.320067464e9, bu: '%RH', v: 20 },
  lon(0, 24.30621),
  lat(0, 60.07965),
  { t: 60, v: 20.3 },
  lon(60, 24.30622),
  lat(60, 60.07965),
  { t: 120, v: 20.7 },
  lon(120, 24.30623),
  lat(120, 60.07966),
  { u: '%EL', t: 150, v: 98 },
  { t: 180, v: 21.2 },
  lon(180, 24.30628),
  lat(180, 60.07967),
];
