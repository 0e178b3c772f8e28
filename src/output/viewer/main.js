// The 3D view of the report: the die pair and the sheet, from laying in to letting go.
//
// Everything that is shown stands in the page: shapes in the JSON block #scene, words and controls in the markup.
// Without WebGL this script changes nothing, and the drawings stay where they are.

import { OrbitControls } from 'three/addons/controls/OrbitControls.js';
import {
  AmbientLight, BufferAttribute, BufferGeometry, DirectionalLight, DoubleSide, EdgesGeometry, Group, LineBasicMaterial,
  LineSegments, Mesh, MeshLambertMaterial, PerspectiveCamera, Scene, Spherical, Vector3, WebGLRenderer,
} from 'three';

const MOST_PIXEL_RATIO = 2;
// Faces that meet at a smaller angle are drawn as one: arcs stay smooth.
const EDGE_DEG = 25;
const PLAY_MS = 9000;
// Where motion is not wanted, playing goes from stage to stage and rests there.
const REST_MS = 1600;
const TURN_RAD = Math.PI / 24;
const ZOOM = 1.12;
const SEE_THROUGH = 0.22;
// Air around the opened pair in the first view, as a share of its size.
const AIR = 1.06;
// The colours of the drawings: lower die, upper die, metal, dark lines.
const INK = { lower: 0xd3dde0, upper: 0xece2c8, sheet: 0xc39a6c, edge: 0x26282c };

const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
const $ = (id) => document.getElementById(id);

function body(name, geometry, edges, space) {
  const face = new MeshLambertMaterial({
    color: INK[name], flatShading: true, side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
  });
  const line = new LineBasicMaterial({ color: INK.edge });
  const group = new Group();
  group.add(new Mesh(geometry, face), new LineSegments(edges, line));
  space.add(group);
  return {
    group,
    seeThrough(on) {
      face.transparent = on;
      face.opacity = on ? SEE_THROUGH : 1;
      face.depthWrite = !on;
      line.transparent = on;
      line.opacity = on ? 0.5 : 1;
      face.needsUpdate = true;
    },
  };
}

function die(data, unit, space) {
  const geometry = new BufferGeometry();
  const points = Float32Array.from(new Int16Array(bytes(data.points)), (value) => value * unit);
  geometry.setAttribute('position', new BufferAttribute(points, 3));
  geometry.setIndex(new BufferAttribute(new Uint32Array(bytes(data.faces)), 1));
  return body(data.name, geometry, new EdgesGeometry(geometry, EDGE_DEG), space);
}

// The sheet's corners stand at stations along it; a shape says where both faces are at each station.
function sheet(data, unit, space) {
  const corners = new Int16Array(bytes(data.corners));
  const count = corners.length / 3;
  const place = new BufferAttribute(new Float32Array(3 * count), 3);
  const faces = new BufferGeometry();
  faces.setAttribute('position', place);
  faces.setIndex(new BufferAttribute(new Uint32Array(bytes(data.faces)), 1));
  const edges = new BufferGeometry();
  edges.setAttribute('position', place);
  edges.setIndex(new BufferAttribute(new Uint32Array(bytes(data.edges)), 1));
  const shapes = data.shapes.map((text) => new Int16Array(bytes(text)));
  const made = body('sheet', faces, edges, space);
  // Its corners move: what was true of them when they were first looked at is not later.
  for (const part of made.group.children) part.frustumCulled = false;
  made.shape = (from, to, share) => {
    const [a, b] = [shapes[from], shapes[to]];
    for (let at = 0; at < count; at += 1) {
      const column = 4 * corners[3 * at] + 2 * corners[3 * at + 2];
      const mix = (i) => (a[i] + (b[i] - a[i]) * share) * unit;
      place.setXYZ(at, mix(column), corners[3 * at + 1] * unit, mix(column + 1));
    }
    place.needsUpdate = true;
  };
  return made;
}

function start() {
  const data = JSON.parse($('scene').textContent);
  const canvas = $('view');
  const renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
  renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, MOST_PIXEL_RATIO));
  const space = new Scene();
  const bodies = {};
  for (const one of data.dies) bodies[one.name] = die(one, data.unit_mm, space);
  bodies.sheet = sheet(data.sheet, data.unit_mm, space);

  const camera = new PerspectiveCamera(28, 1, 1, 1);
  camera.up.set(0, 0, 1);
  // From the left above whoever looks, so that a step's wall is never as bright as the flats beside it.
  const lamp = new DirectionalLight(0xffffff, 2.4);
  lamp.position.set(-1.1, 0.5, 0.7);
  camera.add(lamp);
  space.add(camera, new AmbientLight(0xffffff, 1.25));
  const controls = new OrbitControls(camera, canvas);
  controls.enablePan = false;
  // The wheel belongs to the page until somebody works in the view.
  controls.enableZoom = false;

  const half = data.size_mm.map((length) => length / 2);
  const middle = new Vector3(0, 0, half[2]);
  const from = new Vector3(0.55, -1, 0.5).normalize();
  // So far away that every corner of the opened pair's box is seen.
  const distance = () => {
    const right = new Vector3().crossVectors(camera.up, from).normalize();
    const up = new Vector3().crossVectors(from, right);
    const high = Math.tan((camera.fov * Math.PI) / 360);
    let far = 0;
    for (let corner = 0; corner < 8; corner += 1) {
      const at = new Vector3(...half.map((length, axis) => (corner & (1 << axis) ? length : -length)));
      const needed = Math.max(Math.abs(at.dot(up)) / high, Math.abs(at.dot(right)) / (high * camera.aspect));
      far = Math.max(far, AIR * needed + at.dot(from));
    }
    return far;
  };
  const home = () => {
    const far = distance();
    camera.near = far / 50;
    camera.far = far * 6;
    controls.minDistance = far / 4;
    controls.maxDistance = far * 2;
    camera.updateProjectionMatrix();
    controls.target.copy(middle);
    camera.position.copy(middle).add(from.clone().multiplyScalar(far));
    controls.update();
    draw();
  };
  let waiting = false;
  function draw() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      renderer.render(space, camera);
    });
  }
  const fit = () => {
    const { clientWidth: width, clientHeight: height } = canvas;
    if (!width || !height) return;
    const first = camera.far === 1;
    renderer.setSize(width, height, false);
    const before = camera.aspect;
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    // A page made narrower would cut the pair off.
    if (first || before !== camera.aspect) home();
    else draw();
  };

  const slider = $('view-time');
  const play = $('view-play');
  const said = $('view-said');
  const words = [...document.querySelectorAll('#view-stages [data-stage]')].map((one) => one.dataset.stage);
  const most = Number(slider.max);
  let stage = -1;
  const show = (share) => {
    const last = data.keys.length - 1;
    let next = data.keys.findIndex((key) => key.at >= share);
    if (next < 0) next = last;
    const previous = Math.max(0, next - 1);
    const [from, to] = [data.keys[previous], data.keys[next]];
    const way = to.at - from.at;
    const part = way > 0 ? Math.min(1, Math.max(0, (share - from.at) / way)) : 1;
    bodies.sheet.shape(from.shape, to.shape, part);
    bodies.upper.group.position.z = from.lift_mm + (to.lift_mm - from.lift_mm) * part;
    const now = part < 1 ? to.coming : to.stage;
    if (now !== stage) {
      stage = now;
      said.textContent = words[stage];
      slider.setAttribute('aria-valuetext', words[stage]);
    }
    draw();
  };

  const still = window.matchMedia('(prefers-reduced-motion: reduce)');
  let playing = null;
  const stop = () => {
    if (playing === null) return;
    cancelAnimationFrame(playing.frame);
    clearTimeout(playing.timer);
    playing = null;
    play.textContent = play.dataset.play;
  };
  const go = (share) => {
    slider.value = String(Math.round(share * most));
    show(share);
  };
  const run = () => {
    let share = Number(slider.value) / most;
    if (share >= 1) share = 0;
    playing = {};
    play.textContent = play.dataset.pause;
    if (still.matches) {
      const rests = data.keys.filter((key) => key.rest).map((key) => key.at);
      const next = () => {
        const at = rests.find((rest) => rest > share + 1e-6);
        if (at === undefined) return stop();
        share = at;
        go(share);
        playing.timer = setTimeout(next, REST_MS);
        return undefined;
      };
      go(share);
      playing.timer = setTimeout(next, REST_MS);
      return;
    }
    let before = null;
    const tick = (now) => {
      if (before !== null) share = Math.min(1, share + (now - before) / PLAY_MS);
      before = now;
      go(share);
      if (share >= 1) stop();
      else playing.frame = requestAnimationFrame(tick);
    };
    playing.frame = requestAnimationFrame(tick);
  };
  play.addEventListener('click', () => (playing ? stop() : run()));
  slider.addEventListener('input', () => {
    stop();
    show(Number(slider.value) / most);
  });
  for (const name of ['upper', 'lower', 'sheet']) {
    const box = $(`view-${name}`);
    const through = () => {
      bodies[name].seeThrough(box.checked);
      draw();
    };
    box.addEventListener('change', through);
    through();
  }
  $('view-reset').addEventListener('click', () => {
    stop();
    home();
  });

  const turn = (around, over, nearer) => {
    const arm = camera.position.clone().sub(controls.target);
    // Spherical takes y for up.
    const ball = new Spherical().setFromVector3(new Vector3(arm.x, arm.z, -arm.y));
    ball.theta += around;
    ball.phi += over;
    ball.radius = Math.min(controls.maxDistance, Math.max(controls.minDistance, ball.radius * nearer));
    ball.makeSafe();
    const at = new Vector3().setFromSpherical(ball);
    camera.position.copy(controls.target).add(new Vector3(at.x, -at.z, at.y));
    controls.update();
    draw();
  };
  const keys = {
    ArrowLeft: [-TURN_RAD, 0, 1],
    ArrowRight: [TURN_RAD, 0, 1],
    ArrowUp: [0, -TURN_RAD, 1],
    ArrowDown: [0, TURN_RAD, 1],
    '+': [0, 0, 1 / ZOOM],
    '=': [0, 0, 1 / ZOOM],
    '-': [0, 0, ZOOM],
  };
  canvas.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === 'Home') home();
    else if (keys[event.key]) turn(...keys[event.key]);
    else return;
    event.preventDefault();
  });
  canvas.addEventListener('focus', () => { controls.enableZoom = true; });
  canvas.addEventListener('blur', () => { controls.enableZoom = false; });
  // OrbitControls keeps the browser from giving the focus on a press.
  canvas.addEventListener('pointerdown', () => canvas.focus({ preventScroll: true }));
  // Two fingers must zoom even where nothing has the focus yet.
  canvas.addEventListener('touchstart', () => { controls.enableZoom = true; }, { passive: true });
  controls.addEventListener('change', draw);
  canvas.addEventListener('webglcontextlost', (event) => {
    event.preventDefault();
    stop();
    document.documentElement.classList.remove('with-view');
  });
  canvas.addEventListener('webglcontextrestored', () => {
    document.documentElement.classList.add('with-view');
    fit();
  });

  document.documentElement.classList.add('with-view');
  new ResizeObserver(fit).observe(canvas);
  fit();
  go(0);
}

function hasWebGl() {
  try {
    return Boolean(document.createElement('canvas').getContext('webgl2'));
  } catch {
    return false;
  }
}

if ($('scene') && $('view') && hasWebGl()) {
  try {
    start();
  } catch (error) {
    // The drawings stay; whoever looks for the reason finds it.
    document.documentElement.classList.remove('with-view');
    console.warn('no 3D view:', error);
  }
}
