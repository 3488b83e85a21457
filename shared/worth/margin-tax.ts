/**
 * Tax on a dealer's margin, as a share of it. The margin (sale less purchase) includes the tax, so at r percent the tax is
 * r/(100 + r) of it; a loss is taxed at nothing, and costs of parts, repairs and overheads do not lower the margin.
 * Sources: Directive 2006/112/EC, art. 312 and 315; GOV.UK, "VAT margin schemes", overview; HMRC VAT Notice 718 (costs
 * outside the margin, as reported). Not tax advice; what a place allows comes from its own law.
 * @param ratePercent percent of the price before tax, 0 to 100. Throws RangeError otherwise.
 */
export function marginTaxFraction(ratePercent: number): number {
  if (!(ratePercent >= 0 && ratePercent <= 100)) throw new RangeError('the rate must be 0 to 100 percent');
  return ratePercent / (100 + ratePercent);
}
