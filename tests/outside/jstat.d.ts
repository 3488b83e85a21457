declare module 'jstat' {
  const jStat: {
    studentt: {
      cdf(t: number, degrees: number): number;
      pdf(t: number, degrees: number): number;
      inv(p: number, degrees: number): number;
    };
    normal: {
      cdf(x: number, mean: number, sd: number): number;
      inv(p: number, mean: number, sd: number): number;
    };
    beta: { inv(p: number, a: number, b: number): number };
    binomial: { pdf(k: number, n: number, p: number): number };
    gammaln(x: number): number;
  };
  export default jStat;
}
