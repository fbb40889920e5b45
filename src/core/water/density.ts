/**
 * Density of air-free water at 101.325 kPa, kg/m3, for 0 to 100 degrees Celsius.
 *
 * Kell 1975 (J. Chem. Eng. Data 20, 97), coefficients from memory; checked in tests against IAPWS-95 values of an
 * independent library, within 0.01 kg/m3 over 0-80 degrees. Pressure adds about 0.046 kg/m3 a bar, ignored here.
 *
 * @throws RangeError outside 0 to 100.
 */
export function densityKgM3(celsius: number): number {
  if (!(celsius >= 0 && celsius <= 100)) {
    throw new RangeError(`Water density: ${celsius} °C is outside 0 to 100 °C.`);
  }
  const t = celsius;
  const top =
    999.83952 + t * (16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 + t * -280.54253e-12))));
  return top / (1 + 16.87985e-3 * t);
}
