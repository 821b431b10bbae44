// SPDX-License-Identifier: MIT
// Films that lie in a shed and are then brought in: their progress in standard minutes, from the
// constants that coatbell-model(7) prints and nothing else.
// Usage: node make_two_climates.mjs
const R = 8.314462, WATER = 0.018015, STANDARD = 296.15;
const svp = (c) => 610.94 * Math.exp((17.625 * c) / (243.04 + c));
const arrhenius = (joule, c) => Math.exp((-joule / R) * (1 / (c + 273.15) - 1 / STANDARD));

// Water from the film in g/m2 min, still air, through a skin of that resistance in s/m. The film's
// temperature is where what it loses by evaporation it gains from the air and by radiation.
function flux(c, rh, skin) {
  const kelvin = c + 273.15, rho = 101325 / (287.05 * kelvin), cp = 1006, speed = 0.1, body = 0.008;
  const viscosity = (1.716e-5 * (kelvin / 273.15) ** 1.5 * (273.15 + 110.4)) / (kelvin + 110.4);
  const conductivity = 0.02436 + 7.1e-5 * c;
  const diffusivity = 2.178e-5 * (kelvin / 273.15) ** 1.81;
  const reynolds = (rho * speed * body) / viscosity, prandtl = (viscosity * cp) / conductivity;
  const hc = ((2 + 0.6 * Math.sqrt(reynolds) * Math.cbrt(prandtl)) * conductivity) / body;
  const lewis = conductivity / (rho * cp) / diffusivity;
  const hm = hc / (rho * cp * Math.cbrt(lewis) ** 2);
  const air = ((rh / 100) * svp(c) * WATER) / (R * kelvin);
  const lost = (film) => ((svp(film) * WATER) / (R * (film + 273.15)) - air) / (1 / hm + skin);
  let low = c - 40, high = c;
  for (let i = 0; i < 200; i++) {
    const film = (low + high) / 2;
    const gained = hc * (c - film) + 0.93 * 5.670374e-8 * (kelvin ** 4 - (film + 273.15) ** 4);
    if (gained > (2501e3 - 2361 * film) * lost(film)) low = film;
    else high = film;
  }
  return lost(low) * 60000;
}

// Minutes of a water-borne film in that air: its water leaves, the last comes through the skin, it
// forms. wet film in um, solids, exposure, times as long as the first two.
function minutes(c, rh, film) {
  const { wet, solids, exposure, times } = film;
  const water = wet * (1 - solids), dense = (wet * solids) / 0.74, last = Math.min(0.26 * dense, water);
  const leaves = (air, damp) => {
    let through = 0;
    for (let i = 0; i < 16; i++) {
      const depth = ((i + 0.5) / 16) * exposure * dense * 1e-6;
      through += last / (exposure * flux(air, damp, depth / 7e-7)) / 16;
    }
    const open = exposure * flux(air, damp, 0);
    return water / open + through - last / open;
  };
  return leaves(c, rh) + ((times - 1) * leaves(23, 50)) / arrhenius(30000, c);
}

const airbrushed = { wet: 30, solids: 0.25, exposure: 1, times: 1.5 };
const rate = (c, rh) => minutes(23, 50, airbrushed) / minutes(c, rh, airbrushed);
const shed = [12, 70], room = [20, 50];
console.log(`airbrushed acrylic undercoat, 10 min at 12/70, 5 min at 20/50: ${(10 * rate(...shed) + 5 * rate(...room)).toFixed(4)}`);
console.log(`undercoat from a can, 20 min at 12 C, 15 min at 20 C: ${(20 * arrhenius(40000, 12) + 15 * arrhenius(40000, 20)).toFixed(4)}`);
