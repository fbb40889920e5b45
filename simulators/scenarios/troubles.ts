import { secondsToSensor, type Process, type Site } from '../engineer/site.ts';
import type { TurbidityFault } from '../sensors/turbidity.ts';

/** What may happen beside the plan. Each waits its time, does its mischief, notes it, and mends it when told how long. */
type Happen = (site: Site, emitter: number) => Process;

const forEver = Number.POSITIVE_INFINITY;

/** Do something for a while; `lengthS` infinite: for the rest of the run. */
function spell(
  name: string,
  afterS: number,
  lengthS: number,
  begin: (site: Site) => void,
  end: (site: Site) => void,
): Happen {
  return function* (site) {
    yield afterS;
    const span = site.beginTrouble(name);
    begin(site);
    if (lengthS === forEver) return;
    yield lengthS;
    end(site);
    span.toS = site.nowS;
  };
}

/** The rig's pump stops; told to the tablet or not. */
export function pumpStops(afterS: number, lengthS: number, told: boolean): Happen {
  return spell(
    'pump-off',
    afterS,
    lengthS,
    (site) => {
      site.rig.hydraulics.pumpOn = false;
      if (told) site.tap('rig-pump-off', null, 1);
    },
    (site) => {
      site.rig.hydraulics.pumpOn = true;
      if (told) site.tap('rig-pump-on', null, 1);
      site.sensors.bubbles.stir(site.nowS, 1, 0.3, 8);
    },
  );
}

/** A hose is kinked or a valve half shut: the flow falls to a share. */
export function kink(afterS: number, lengthS: number, share: number): Happen {
  return spell(
    'kink',
    afterS,
    lengthS,
    (site) => {
      site.rig.hydraulics.throttle = share;
    },
    (site) => {
      site.rig.hydraulics.throttle = 1;
    },
  );
}

export function sensorFault(fault: TurbidityFault, afterS: number, lengthS: number): Happen {
  return spell(
    fault,
    afterS,
    lengthS,
    (site) => {
      site.sensors.turbidity.fault = fault;
    },
    (site) => {
      site.sensors.turbidity.fault = 'none';
    },
  );
}

/** A film grows on the window; wiped off at the end. */
export function fouling(afterS: number, lengthS: number, ntuPerMin: number): Happen {
  return spell(
    'fouling',
    afterS,
    lengthS,
    (site) => {
      site.sensors.turbidity.foulingPerMin = ntuPerMin;
    },
    (site) => {
      site.sensors.turbidity.foulingPerMin = 0;
      site.sensors.turbidity.foulingNtu = 0;
    },
  );
}

/** Air comes by, `perS` bursts a second at first. */
export function air(afterS: number, perS: number, fadeS: number): Happen {
  return function* (site) {
    yield afterS;
    site.beginTrouble('bubbles').toS = site.nowS + 2 * fadeS;
    site.sensors.bubbles.stir(site.nowS, 0, perS, fadeS);
  };
}

/** The engineer vents this emitter: air, and a little pressure lost. */
export function venting(afterS: number): Happen {
  return function* (site, emitter) {
    yield afterS;
    site.tap('vent', emitter, 1);
    site.rig.pressure.letOut(0.5);
    site.sensors.bubbles.stir(site.nowS, 0.5 * secondsToSensor(site.rig, emitter), 0.5, 20);
  };
}

export function leak(afterS: number, lpmAt1Bar: number): Happen {
  return spell(
    'leak',
    afterS,
    forEver,
    (site) => {
      site.rig.pressure.leakLpm = lpmAt1Bar;
    },
    () => undefined,
  );
}

export function fillingLoopOpen(afterS: number, lengthS: number, lpmPerBar: number): Happen {
  return spell(
    'filling-loop',
    afterS,
    lengthS,
    (site) => {
      site.rig.pressure.fillingLpmPerBar = lpmPerBar;
    },
    (site) => {
      site.rig.pressure.fillingLpmPerBar = 0;
    },
  );
}

export function heating(afterS: number, lengthS: number, kPerMin: number, setC: number): Happen {
  return spell(
    'heating',
    afterS,
    lengthS,
    (site) => {
      site.rig.heaterKPerMin = kPerMin;
      site.rig.heaterSetC = setC;
    },
    (site) => {
      site.rig.heaterKPerMin = 0;
    },
  );
}

/** Another emitter is not shut, or opens by itself. */
export function secondOpen(afterS: number, lengthS: number): Happen {
  return function* (site, emitter) {
    yield afterS;
    const other = (emitter + 1) % site.rig.emitters.length;
    if (other === emitter) return;
    const span = site.beginTrouble('two-open');
    site.rig.openEmitter(other);
    yield lengthS;
    if (site.visit?.emitter !== other) site.rig.shutEmitter(other);
    span.toS = site.nowS;
  };
}

/** The engineer sees that the chambers are full and empties them: pump off, empty, pump on. */
export function emptyingChambers(afterS: number): Happen {
  return function* (site) {
    yield afterS;
    const span = site.beginTrouble('chamber-emptying');
    site.rig.hydraulics.pumpOn = false;
    site.tap('rig-pump-off', null, 1);
    yield 45;
    site.rig.emptyChambers();
    site.tap('chamber-emptied', null, 1);
    yield 20;
    site.rig.hydraulics.pumpOn = true;
    site.tap('rig-pump-on', null, 1);
    site.sensors.bubbles.stir(site.nowS, 2, 0.6, 12);
    span.toS = site.nowS;
  };
}

export function reversing(afterS: number): Happen {
  return function* (site) {
    yield afterS;
    site.rig.reverseFlow();
    site.tap('flow-reverse', null, 1);
    site.beginTrouble('flow-reverse').toS = site.nowS;
  };
}

/** No row reaches the recording for a while. */
export function linkLost(afterS: number, lengthS: number): Happen {
  return spell(
    'link',
    afterS,
    lengthS,
    (site) => {
      site.linkDown = true;
    },
    (site) => {
      site.linkDown = false;
    },
  );
}

/** The flow meter stands still although water flows. */
export function flowMeterStands(afterS: number, lengthS: number): Happen {
  return spell(
    'flow-meter',
    afterS,
    lengthS,
    (site) => {
      if (site.sensors.flow) site.sensors.flow.gone = true;
    },
    (site) => {
      if (site.sensors.flow) site.sensors.flow.gone = false;
    },
  );
}

/** In the rinse: mains lost or weak for a while. */
export function mainsLost(afterS: number, lengthS: number, left: number): Happen {
  return spell(
    'mains-lost',
    afterS,
    lengthS,
    (site) => {
      site.rig.mainsSupply = left;
    },
    (site) => {
      site.rig.mainsSupply = 1;
    },
  );
}

/** In the rinse: after the first, the others are opened one after the other, and the first shut. */
export function rinseRound(eachS: number, others: number): Happen {
  return function* (site, first) {
    let open = first;
    for (let n = 0; n < others; n += 1) {
      yield eachS;
      const next = (open + 1) % site.rig.emitters.length;
      site.rig.openEmitter(next);
      site.tap('emitter-open', next, 1);
      yield 3;
      site.rig.shutEmitter(open);
      site.tap('emitter-shut', open, 1);
      open = next;
    }
  };
}

/** In the rinse: somebody knocks an emitter and a late slug of dirt comes. */
export function lateSlug(afterS: number): Happen {
  return function* (site, emitter) {
    yield afterS;
    site.rig.beginPass();
    site.rig.shakeEmitter(emitter, 20);
    site.beginTrouble('late-slug').toS = site.nowS;
  };
}
