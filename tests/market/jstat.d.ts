declare module 'jstat' {
  export const jStat: {
    studentt: {
      cdf(t: number, degrees: number): number;
      pdf(t: number, degrees: number): number;
      inv(p: number, degrees: number): number;
    };
    normal: { cdf(x: number, mean: number, sd: number): number };
  };
}
