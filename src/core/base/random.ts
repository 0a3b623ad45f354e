/** A seeded stream of random numbers: same seed, same numbers, on every machine. */
export interface Random {
  /** Uniform in [0, 1), 32 random bits. */
  uniform(): number
  /** Standard normal: mean 0, standard deviation 1. */
  normal(): number
  /** Poisson count of the given mean (≥ 0): exact below 60, rounded normal with the skewness term above. */
  poisson(mean: number): number
}

/**
 * xoshiro128** (Blackman, Vigna 2018: "Scrambled linear pseudorandom number generators"), seeded by splitmix32.
 * Normal by Marsaglia's polar method (1964); Poisson by multiplication (Knuth, TAOCP 2, 3.4.1).
 */
export function seededRandom(seed: number): Random {
  let z = seed >>> 0
  const split = () => {
    z = (z + 0x9e3779b9) >>> 0
    let t = z ^ (z >>> 16)
    t = Math.imul(t, 0x21f0aaad)
    t ^= t >>> 15
    t = Math.imul(t, 0x735a2d97)
    return (t ^ (t >>> 15)) >>> 0
  }
  let a = split()
  let b = split()
  let c = split()
  let d = split()
  const rotl = (x: number, k: number) => (x << k) | (x >>> (32 - k))
  const uniform = () => {
    const result = Math.imul(rotl(Math.imul(b, 5), 7), 9) >>> 0
    const t = b << 9
    c ^= a
    d ^= b
    b ^= c
    a ^= d
    c ^= t
    d = rotl(d, 11)
    return result / 4294967296
  }
  let spare = Number.NaN
  const normal = () => {
    if (!Number.isNaN(spare)) {
      const s = spare
      spare = Number.NaN
      return s
    }
    for (;;) {
      const u = 2 * uniform() - 1
      const v = 2 * uniform() - 1
      const q = u * u + v * v
      if (q > 0 && q < 1) {
        const f = Math.sqrt((-2 * Math.log(q)) / q)
        spare = v * f
        return u * f
      }
    }
  }
  const poisson = (mean: number) => {
    if (!(mean > 0)) return 0
    if (mean < 60) {
      const stop = Math.exp(-mean)
      let k = 0
      for (let p = uniform(); p > stop; p *= uniform()) k++
      return k
    }
    const n = normal()
    return Math.max(0, Math.round(mean + n * Math.sqrt(mean) + (n * n - 1) / 6))
  }
  return { uniform, normal, poisson }
}
