// SPDX-License-Identifier: MIT
// Makes psychrolib_grid.txt again: npm package psychrolib 1.1.1 over 36 temperatures, 18
// humidities and 4 pressures, 2592 states. In a folder of its own:
//     npm install psychrolib@1.1.1
//     cp .../tests/reference/psychrolib_grid.mjs . && node psychrolib_grid.mjs > .../psychrolib_grid.txt
// The test reads the file only and needs no npm.
import { createRequire } from 'node:module';

const psy = createRequire(import.meta.url)('psychrolib');
psy.SetUnitSystem(psy.SI);

const pressures = [85000, 92000, 101325, 105000];
const lines = [
  '# SPDX-License-Identifier: MIT',
  '# Moist air by the npm package psychrolib 1.1.1 (ASHRAE Fundamentals 2017); psychrolib_grid.mjs',
  '# remakes it. Each line: temperature C, humidity %, vapour pressure Pa, dew point C, then the',
  `# wet bulb C at ${pressures.join(', ')} Pa.`,
];
for (let t = 5; t <= 40; t++) {
  for (let rh = 10; rh <= 95; rh += 5) {
    const vapour = psy.GetVapPresFromRelHum(t, rh / 100);
    const dew = psy.GetTDewPointFromRelHum(t, rh / 100);
    const wet = pressures.map((p) => psy.GetTWetBulbFromRelHum(t, rh / 100, p).toFixed(3));
    lines.push([t, rh, vapour.toFixed(2), dew.toFixed(3), ...wet].join(' '));
  }
}
console.log(lines.join('\n'));
