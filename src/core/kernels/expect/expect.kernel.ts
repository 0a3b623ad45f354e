// Expected levels of a row of cells; see expect.ts for the definition. The four phases of a cell are one vector. Sums stand
// in the even row and weights in the odd row until the last pass.

const WORDS: usize = 52
const CELL_BYTES: usize = 20

export function expectRow(frames: usize, count: i32, columns: i32, even: usize, odd: usize): void {
  const zero = f32x4.splat(0)
  for (let x = 0; x < columns; x++) {
    v128.store(even + (<usize>x << 4), zero)
    v128.store(odd + (<usize>x << 4), zero)
  }
  for (let k = 0; k < count; k++) {
    const entry = frames + <usize>k * WORDS
    const row = <usize>load<u32>(entry)
    const shift = load<i32>(entry, 4)
    const black = v128.load(entry, 8)
    const perCode = v128.load(entry, 24)
    const clipped = load<f32>(entry, 40)
    const inverseGain = load<f32>(entry, 44)
    const whenClipped = load<f32>(entry, 48)
    for (let x = max(0, -shift); x < min(columns, columns - shift); x++) {
      const cell = row + <usize>(x + shift) * CELL_BYTES
      const trust: f32 = load<f32>(cell, 16) < clipped ? 1 : whenClipped
      const at = <usize>x << 4
      const linear = f32x4.mul(f32x4.sub(v128.load(cell), black), perCode)
      v128.store(even + at, f32x4.add(v128.load(even + at), f32x4.mul(linear, f32x4.splat(trust))))
      store<f32>(odd + at, load<f32>(odd + at) + trust * inverseGain)
    }
  }
  for (let x = 0; x < columns; x++) {
    const at = <usize>x << 4
    const weight = load<f32>(odd + at)
    const value = f32x4.pmax(zero, f32x4.mul(v128.load(even + at), f32x4.splat(weight > 0 ? <f32>1 / weight : 0)))
    v128.store(even + at, v128.shuffle<i32>(value, value, 0, 1, 0, 1))
    v128.store(odd + at, v128.shuffle<i32>(value, value, 2, 3, 2, 3))
  }
}
